//! Licences of everything that is linked in: permissive, or MPL-2.0, by the SPDX expression of each package.

use cargo_metadata::MetadataCommand;
use std::error::Error;
use std::path::Path;
use std::process::Command;

/// SPDX identifiers that we take.
const TAKEN: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "Unicode-3.0",
    "Unicode-DFS-2016",
    "Unlicense",
    "Zlib",
];

/// Exceptions that only add permissions to a licence.
const EXCEPTIONS: &[&str] = &["LLVM-exception"];

/// A package that is not ours.
pub struct Package {
    name: String,
    licence: Option<String>,
}

/// Each package outside the workspace that a build for this machine uses.
pub fn of(root: &Path) -> Result<Vec<Package>, Box<dyn Error>> {
    // Without the filter, cargo would want to fetch packages that only other systems use.
    let version = Command::new("rustc").arg("-vV").output()?;
    let version = String::from_utf8(version.stdout)?;
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).ok_or("rustc -vV names no host")?;
    let metadata = MetadataCommand::new()
        .manifest_path(root.join("Cargo.toml"))
        .other_options(["--filter-platform".to_owned(), host.to_owned()])
        .exec()?;
    let ours = &metadata.workspace_members;
    let others = metadata.packages.iter().filter(|p| !ours.contains(&p.id));
    Ok(others
        .map(|p| Package { name: format!("{} {}", p.name, p.version), licence: p.license.clone() })
        .collect())
}

pub fn check(packages: &[Package]) -> Vec<String> {
    let refused = packages.iter().filter_map(|Package { name, licence }| match licence {
        None => Some(format!("licences: {name} states none")),
        Some(expression) => match acceptable(expression) {
            Ok(true) => None,
            Ok(false) => Some(format!("licences: {name} is under {expression}, which we do not take")),
            Err(why) => Some(format!("licences: {name}: cannot read \"{expression}\": {why}")),
        },
    });
    refused.collect()
}

/// Whether an SPDX expression leaves us a licence we take. WITH binds closest, then AND, then OR; an old-style
/// `MIT/Apache-2.0` means OR.
fn acceptable(expression: &str) -> Result<bool, String> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let mut words = Words { words: spaced.split_whitespace().collect(), at: 0 };
    let answer = any(&mut words)?;
    match words.peek() {
        None => Ok(answer),
        Some(rest) => Err(format!("\"{rest}\" is left over")),
    }
}

struct Words<'a> {
    words: Vec<&'a str>,
    at: usize,
}

impl<'a> Words<'a> {
    fn peek(&self) -> Option<&'a str> {
        self.words.get(self.at).copied()
    }

    fn take(&mut self) -> Option<&'a str> {
        let word = self.peek();
        self.at += 1;
        word
    }

    fn take_if(&mut self, word: &str) -> bool {
        let there = self.peek() == Some(word);
        self.at += usize::from(there);
        there
    }
}

fn any(words: &mut Words<'_>) -> Result<bool, String> {
    let mut answer = all(words)?;
    while words.take_if("OR") {
        answer |= all(words)?;
    }
    Ok(answer)
}

fn all(words: &mut Words<'_>) -> Result<bool, String> {
    let mut answer = one(words)?;
    while words.take_if("AND") {
        answer &= one(words)?;
    }
    Ok(answer)
}

fn one(words: &mut Words<'_>) -> Result<bool, String> {
    if words.take_if("(") {
        let answer = any(words)?;
        return if words.take_if(")") { Ok(answer) } else { Err("a bracket is not closed".to_owned()) };
    }
    let name = words.take().ok_or("a licence is missing")?;
    if ["AND", "OR", "WITH", ")"].contains(&name) {
        return Err(format!("a licence is missing before \"{name}\""));
    }
    let taken = TAKEN.contains(&name.trim_end_matches('+'));
    if words.take_if("WITH") {
        let exception = words.take().ok_or("an exception is missing")?;
        return Ok(taken && EXCEPTIONS.contains(&exception));
    }
    Ok(taken)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn expressions() {
        for good in [
            "MIT",
            "MIT/Apache-2.0",
            "MIT OR GPL-3.0-only",
            "(GPL-2.0 OR MIT) AND BSD-3-Clause",
            "GPL-3.0 AND ISC OR Zlib",
            "MIT OR Zlib AND AGPL-3.0",
            "Apache-2.0 WITH LLVM-exception OR Apache-2.0 OR MIT",
            "(MIT OR Apache-2.0) AND Unicode-3.0",
            "MPL-2.0+",
        ] {
            assert_eq!(acceptable(good), Ok(true), "{good}");
        }
        for bad in [
            "GPL-3.0-or-later",
            "MIT AND GPL-3.0",
            "(MIT OR Apache-2.0) AND LGPL-2.1",
            "GPL-2.0 WITH LLVM-exception",
            "MIT WITH Some-exception",
            "mit",
        ] {
            assert_eq!(acceptable(bad), Ok(false), "{bad}");
        }
        for broken in ["", "MIT OR", "(MIT", "MIT)", "AND MIT", "MIT Apache-2.0", "MIT WITH"] {
            assert!(acceptable(broken).is_err(), "{broken}");
        }
    }

    #[test]
    fn planted_violations_are_caught() {
        let package = |name: &str, licence: Option<&str>| Package {
            name: name.to_owned(),
            licence: licence.map(str::to_owned),
        };
        let all = [package("a 1", Some("MIT")), package("b 2", Some("GPL-3.0")), package("c 3", None)];
        assert_eq!(
            check(&all),
            ["licences: b 2 is under GPL-3.0, which we do not take", "licences: c 3 states none"]
        );
    }

    #[test]
    fn the_real_list_is_not_empty() {
        let packages = of(&crate::tidy::root()).unwrap();
        assert!(packages.iter().any(|p| p.name.starts_with("libm ")));
    }
}

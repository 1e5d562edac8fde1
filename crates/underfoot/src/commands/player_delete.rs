//! `underfoot player delete`: a player goes, with everything that was ever made or written of them.
use super::{Done, count, print, print_json};
use archive::privacy::Going;
use clap::Args;
use std::io::{BufRead as _, IsTerminal as _, Write as _};
use underfoot::fail::{Exit, Fail};
use underfoot::study::{InStudy, fail};

/// Options of `underfoot player delete`.
#[derive(Args, Debug)]
pub struct Delete {
    /// The player's alias
    alias: String,
    /// Say the alias once more, so that nothing is asked: for scripts
    #[arg(long, value_name = "ALIAS")]
    yes: Option<String>,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(options: &Delete) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let player = study.player_called(&options.alias).map_err(of)?;
    let going = study.going(player.id).map_err(of)?;
    eprint!("{}", words(&going));
    confirm(&player.alias, options.yes.as_deref())?;
    let left = study.delete_player(player.id).map_err(of)?;
    if options.json {
        print_json(&serde_json::json!({
            "schema": "underfoot.player-deleted/1",
            "sessions": going.sessions, "swings": going.swings, "files": going.files, "left": left,
        }))?;
    } else {
        print(&format!(
            "deleted: {}, {}, {}\n",
            count(going.sessions, "session"),
            count(going.swings, "swing"),
            count(going.files, "file")
        ))?;
    }
    if left.nothing() {
        return Ok(None);
    }
    if left.files > 0 {
        eprintln!("{} could not be removed yet", count(left.files, "file"));
    }
    if let Some(why) = &left.pages {
        eprintln!("the catalogue could not be written anew yet: {why}");
    }
    eprintln!(
        "do:    end the other programs that use the study, then `underfoot study vacuum`; or it is done when the\n       \
               study is next opened alone"
    );
    Ok(Some(Exit::Findings))
}

fn words(going: &Going) -> String {
    let mut out = format!(
        "{} goes, with {}, {} and {} ({:.1} MB of recordings){}.\n",
        going.player.alias,
        count(going.sessions, "session"),
        count(going.swings, "swing"),
        count(going.files, "file"),
        going.bytes as f64 / 1e6,
        if going.named { ", a name and a contact" } else { "" }
    );
    if !going.damaged.is_empty() {
        out.push_str(&format!(
            "Damaged catalogues that a rebuild has kept go too: {}.\n",
            going.damaged.join(", ")
        ));
    }
    if !going.strays.is_empty() {
        out.push_str(&format!(
            "{} that no swing speaks of stay, whose they are cannot be known: `underfoot study vacuum --strays` removes them.\n",
            count(going.strays.len(), "recording")
        ));
    }
    out.push_str(
        "This cannot be undone. Copies elsewhere are not touched: backups, exports, the folders the recordings came from.\n",
    );
    out
}

/// The alias, said once more.
fn confirm(alias: &str, said: Option<&str>) -> Result<(), Fail> {
    let refused = |what: &str| {
        Err(Fail::usage(what).at("nothing was deleted").fix(format!("confirm with --yes \"{alias}\"")))
    };
    if let Some(said) = said {
        return if said.trim() == alias { Ok(()) } else { refused("--yes says another alias") };
    }
    let input = std::io::stdin();
    if !input.is_terminal() {
        return refused("nobody is there to confirm");
    }
    eprint!("Type {alias} to delete: ");
    let _ = std::io::stderr().flush(); // a question that is not seen is not answered
    let mut line = String::new();
    match input.lock().read_line(&mut line) {
        Ok(_) if line.trim() == alias => Ok(()),
        Ok(_) => refused("that is another word"),
        Err(e) => refused(&format!("the answer cannot be read: {e}")),
    }
}

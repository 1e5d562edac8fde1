//! The accounts of a swing that can be compared as whole curves: the player's columns of its series, by name.
use super::table::Account;
use crate::table::{Align, Table};
use swing::metrics::Unit;

const fn force(id: &'static str, column: &'static str, label: &'static str, two_feet: bool) -> Account {
    Account { id, column, label, unit: Unit::Newton, two_feet }
}
const fn place(id: &'static str, column: &'static str, label: &'static str, two_feet: bool) -> Account {
    Account { id, column, label, unit: Unit::Metre, two_feet }
}
const fn moment(id: &'static str, column: &'static str, label: &'static str, two_feet: bool) -> Account {
    Account { id, column, label, unit: Unit::NewtonMetre, two_feet }
}

/// Every account, forces first. Ids are made of the words that ids of metrics are made of.
///
/// Sign: that of the player's columns ([`crate::series::columns`]): up, toward the target, toward the toes, and a turn toward the
/// target are positive, reactions on the player.
pub const ACCOUNTS: [Account; 25] = [
    force("up.net", "net_up_n", "net force up", false),
    force("up.lead", "lead_up_n", "lead foot's force up", true),
    force("up.trail", "trail_up_n", "trail foot's force up", true),
    force("target.net", "net_target_n", "net force toward the target", false),
    force("target.lead", "lead_target_n", "lead foot's force toward the target", true),
    force("target.trail", "trail_target_n", "trail foot's force toward the target", true),
    force("toe.net", "net_toe_n", "net force toward the toes", false),
    force("toe.lead", "lead_toe_n", "lead foot's force toward the toes", true),
    force("toe.trail", "trail_toe_n", "trail foot's force toward the toes", true),
    moment("turn", "turn_nm", "turn", false),
    moment("turn.lead", "turn_lead_nm", "lead foot's turn", true),
    moment("turn.trail", "turn_trail_nm", "trail foot's turn", true),
    moment("entry.free-lead", "turn_free_lead_nm", "lead free moment (entry)", true),
    moment("entry.free-trail", "turn_free_trail_nm", "trail free moment (entry)", true),
    moment("entry.couple-toe", "turn_couple_toe_nm", "shear couple, toe–heel part", true),
    moment("entry.couple-target", "turn_couple_target_nm", "shear couple, along-target part", true),
    moment("entry.offset", "turn_offset_nm", "offset (entry)", true),
    moment("free-moment.lead", "lead_free_moment_nm", "lead free moment", true),
    moment("free-moment.trail", "trail_free_moment_nm", "trail free moment", true),
    place("cop-target.net", "net_cop_target_m", "net centre of pressure along the target line", false),
    place("cop-target.lead", "lead_cop_target_m", "lead centre of pressure along the target line", true),
    place("cop-target.trail", "trail_cop_target_m", "trail centre of pressure along the target line", true),
    place("cop-toe.net", "net_cop_toe_m", "net centre of pressure from heel to toe", false),
    place("cop-toe.lead", "lead_cop_toe_m", "lead centre of pressure from heel to toe", true),
    place("cop-toe.trail", "trail_cop_toe_m", "trail centre of pressure from heel to toe", true),
];

/// The list for a terminal: id, label, unit, needs.
pub fn list() -> String {
    let mut table = Table::new(&[Align::Left, Align::Left, Align::Left, Align::Left]);
    for a in ACCOUNTS {
        table.row([a.id, a.label, a.unit.symbol(), if a.two_feet { "a plate for each foot" } else { "" }]);
    }
    table.text()
}

/// No account is called so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownAccount {
    /// What was asked for.
    pub asked: String,
    /// The id that is meant, if one is near.
    pub near: Option<&'static str>,
}

impl std::fmt::Display for UnknownAccount {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "there is no account \"{}\"", self.asked)?;
        match self.near {
            Some(id) => write!(f, "; did you mean \"{id}\"?"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for UnknownAccount {}

/// An account by its id ("up.net"), whatever the case, or by its column ("net_up_n").
///
/// Errors: a name that is none, with the id that is nearest: that which has the same words in another order, else a slip of the
/// hand.
pub fn account_called(name: &str) -> Result<Account, UnknownAccount> {
    let asked = name.trim().to_lowercase();
    if let Some(account) = ACCOUNTS.iter().find(|a| a.id == asked || a.column == asked) {
        return Ok(*account);
    }
    let words = |text: &str| -> Vec<String> {
        let mut all: Vec<String> = text
            .split(|c: char| !c.is_alphanumeric())
            .filter(|w| !w.is_empty())
            .map(str::to_string)
            .collect();
        all.sort();
        all
    };
    let of_asked = words(&asked);
    let ids = || ACCOUNTS.iter().map(|a| a.id);
    let same = || ids().find(|id| words(id) == of_asked);
    let slip = || {
        let reach = (asked.chars().count() / 3).max(1);
        ids().map(|id| (edits(&asked, id), id)).min_by_key(|(d, _)| *d).filter(|(d, _)| *d <= reach)
    };
    let shares = || {
        let shared = |id: &str| words(id).iter().filter(|w| of_asked.contains(w)).count();
        ids().map(|id| (shared(id), id)).rev().max_by_key(|(n, _)| *n).filter(|(n, _)| *n > 0)
    };
    let near = same().or_else(|| slip().map(|(_, id)| id)).or_else(|| shares().map(|(_, id)| id));
    Err(UnknownAccount { asked: name.trim().to_string(), near })
}

/// Letters to insert, delete or replace to get from one word to another (Levenshtein 1966).
fn edits(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.chars().take(64).enumerate() {
        let mut corner = i;
        let mut left = i + 1;
        if let Some(first) = row.first_mut() {
            *first = left;
        }
        for (cell, b) in row.iter_mut().skip(1).zip(&to) {
            let here = (corner + usize::from(a != *b)).min(left + 1).min(*cell + 1);
            (corner, left) = (*cell, here);
            *cell = here;
        }
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn every_account_has_a_name_and_a_column_of_its_own() {
        for (k, a) in ACCOUNTS.iter().enumerate() {
            assert_eq!(account_called(a.id).unwrap(), *a);
            assert_eq!(account_called(a.column).unwrap(), *a);
            for b in &ACCOUNTS[k + 1..] {
                assert!(a.id != b.id && a.column != b.column && a.label != b.label);
            }
            let symbol = match a.unit {
                Unit::Newton => "_n",
                Unit::NewtonMetre => "_nm",
                _ => "_m",
            };
            assert!(a.column.ends_with(symbol), "{}", a.column);
        }
    }

    #[test]
    fn a_wrong_name_is_met_with_the_nearest() {
        let near = |name: &str| account_called(name).unwrap_err().near;
        assert_eq!(near("net.up"), Some("up.net"));
        assert_eq!(near("up.nte"), Some("up.net"));
        assert_eq!(near("toe lead"), Some("toe.lead"));
        assert_eq!(near("couple.target"), Some("entry.couple-target"));
        assert_eq!(near("offset"), Some("entry.offset"));
        assert_eq!(near("quux"), None);
        assert_eq!(account_called(" UP.Net ").unwrap().column, "net_up_n");
        assert_eq!(
            account_called("turm").unwrap_err().to_string(),
            "there is no account \"turm\"; did you mean \"turn\"?"
        );
    }

    /// By hand: kitten to sitting is three edits (Levenshtein's example, as textbooks have it).
    #[test]
    fn edits_are_counted() {
        assert_eq!((edits("kitten", "sitting"), edits("", "abc"), edits("abc", "abc")), (3, 3, 0));
    }
}

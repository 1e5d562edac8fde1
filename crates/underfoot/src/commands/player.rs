//! `underfoot player`: who is measured, by alias; consent, and how long recordings are kept.
use super::again::{ranges, tell};
use super::outcomes::{name as name_of, read};
use super::{Done, count, print, print_json};
use archive::people::handicap;
use archive::roster::Roster;
use archive::{Identity, Player, Study, date};
use clap::{Args, Subcommand, ValueEnum};
use serde_json::json;
use std::path::{Path, PathBuf};
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::quantity::plain;
use view::table::{Align, Table};

/// What to do with players.
#[derive(Subcommand, Debug)]
pub enum PlayerCommand {
    /// Add a player: an alias, and what is known and needed
    #[command(after_help = "\
Examples:
  underfoot player add P01 --hand right
  underfoot player add P02 --hand left --born 1990 --consent-on 2026-05-12 --consent-to \"measuring, storing\" \\
    --keep-until 2031-12-31
  underfoot player add P03 --name \"A. N. Invented\" --contact \"reception\"

The alias stands everywhere; a name is kept in a table of its own, shown only by `player list --names` and
`player name`, and left out of exports. Collect the least you need.")]
    Add(Add),
    /// Who is in the study, by alias
    #[command(after_help = "\
Examples:
  underfoot player list
  underfoot player list --names")]
    List(List),
    /// Change what is known of a player; where the hand changes, the player's swings are measured again
    #[command(after_help = "\
Examples:
  underfoot player edit P01 --hand left
  underfoot player edit P01 --keep-until 2030-12-31 --clear handicap")]
    Edit(Edit),
    /// Whose recordings are kept too long, and who has not consented
    #[command(after_help = "\
Examples:
  underfoot player due
  underfoot player due --on 2027-01-01 --json")]
    Due(Due),
    /// Show, write or take away a player's name
    #[command(after_help = "\
Examples:
  underfoot player name P01
  underfoot player name P01 \"A. N. Invented\" --contact \"reception\"
  underfoot player name P01 --remove")]
    Name(Name),
    /// Forget a player: recordings, everything made of them, every row and word; asks first
    #[command(after_help = "\
Examples:
  underfoot player delete P01
  underfoot player delete P01 --yes P01

Copies elsewhere (backups, exports, the files you imported from) are not touched.")]
    Delete(super::player_delete::Delete),
}

/// What may be known of a player.
#[derive(Args, Clone, Debug, Default)]
pub struct Known {
    /// Plays right- or left-handed
    #[arg(long, value_enum)]
    hand: Option<crate::asked::HandWord>,
    /// In your own words
    #[arg(long)]
    sex: Option<String>,
    /// Handicap index; better than scratch as +2.1 (kept as −2.1)
    #[arg(long, value_parser = handicap, allow_hyphen_values = true)]
    handicap: Option<f64>,
    /// Year of birth
    #[arg(long, value_name = "YEAR")]
    born: Option<i64>,
    /// Free text
    #[arg(long)]
    note: Option<String>,
    /// Day on which the player agreed to be measured and kept
    #[arg(long, value_name = "DAY", value_parser = day)]
    consent_on: Option<String>,
    /// To what, in your own words
    #[arg(long, value_name = "WORDS")]
    consent_to: Option<String>,
    /// Last day on which the recordings are to be kept
    #[arg(long, value_name = "DAY", value_parser = day)]
    keep_until: Option<String>,
}

/// Options of `underfoot player add`.
#[derive(Args, Debug)]
pub struct Add {
    /// What the player is called everywhere
    #[arg(required_unless_present = "from")]
    alias: Option<String>,
    /// Add many: a table with a row a player
    #[arg(long, value_name = "CSV", conflicts_with_all = [
        "alias", "hand", "sex", "handicap", "born", "note", "consent_on", "consent_to", "keep_until", "name",
    ])]
    from: Option<PathBuf>,
    #[command(flatten)]
    known: Known,
    /// The player's name, kept apart from everything else
    #[arg(long)]
    name: Option<String>,
    /// How to reach the player, kept with the name
    #[arg(long, requires = "name")]
    contact: Option<String>,
    #[command(flatten)]
    study: InStudy,
}

/// Options of `underfoot player list`.
#[derive(Args, Debug)]
pub struct List {
    /// With names, where they were written down
    #[arg(long)]
    names: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot player edit`.
#[derive(Args, Debug)]
pub struct Edit {
    /// The player
    alias: String,
    /// Another alias
    #[arg(long = "alias", value_name = "ALIAS")]
    rename: Option<String>,
    #[command(flatten)]
    known: Known,
    /// Forget something; may be given many times
    #[arg(long, value_enum, value_name = "WHAT")]
    clear: Vec<Field>,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// What can be forgotten.
#[derive(ValueEnum, Clone, Copy, Debug)]
enum Field {
    Hand,
    Sex,
    Handicap,
    Born,
    Note,
    Consent,
    KeepUntil,
}

/// Options of `underfoot player due`.
#[derive(Args, Debug)]
pub struct Due {
    /// As of this day; otherwise today
    #[arg(long, value_name = "DAY", value_parser = day)]
    on: Option<String>,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot player name`.
#[derive(Args, Debug)]
pub struct Name {
    /// The player
    alias: String,
    /// The name; without one, what is written down is shown
    name: Option<String>,
    /// How to reach the player
    #[arg(long, requires = "name")]
    contact: Option<String>,
    /// Take the name away
    #[arg(long, conflicts_with = "name")]
    remove: bool,
    #[command(flatten)]
    study: InStudy,
}

/// A day as it is kept, for a command line's parser.
pub fn day(text: &str) -> Result<String, String> {
    date::day(text).map_err(|e| e.to_string())
}

/// Runs it.
pub fn run(command: &PlayerCommand) -> Done {
    match command {
        PlayerCommand::Add(options) => add(options),
        PlayerCommand::List(options) => list(options),
        PlayerCommand::Edit(options) => edit(options),
        PlayerCommand::Due(options) => due(options),
        PlayerCommand::Name(options) => name(options),
        PlayerCommand::Delete(options) => super::player_delete::run(options),
    }
}

impl Known {
    fn onto(&self, mut player: Player) -> Player {
        let text = |new: &Option<String>, old: String| new.clone().unwrap_or(old);
        player.hand = self.hand.map(|h| h.word().to_string()).or(player.hand);
        player.sex = self.sex.clone().or(player.sex);
        player.handicap = self.handicap.or(player.handicap);
        player.born = self.born.or(player.born);
        player.note = text(&self.note, player.note);
        player.consent_on = self.consent_on.clone().or(player.consent_on);
        player.consent_to = text(&self.consent_to, player.consent_to);
        player.keep_until = self.keep_until.clone().or(player.keep_until);
        player
    }
}

fn add(options: &Add) -> Done {
    let study = options.study.open()?;
    if let Some(file) = &options.from {
        return add_table(&study, file);
    }
    let player = options.known.onto(Player::called(options.alias.as_deref().unwrap_or_default()));
    let identity = options
        .name
        .as_ref()
        .map(|name| Identity { name: name.clone(), contact: options.contact.clone().unwrap_or_default() });
    study.add_player(&player, identity.as_ref()).map_err(|e| fail(e, &study.root))?;
    print(&format!("{} is in the study\n", player.alias))?;
    remind(&player);
    Ok(None)
}

/// Adds the players of a table, and says once what is missing of whom.
fn add_table(study: &Study, file: &Path) -> Done {
    let roster = Roster::parse(&name_of(file), &read(file)?).map_err(|e| fail(e, file))?;
    for (head, why) in &roster.left_out {
        eprintln!("column \"{head}\" is left out: {why}");
    }
    let added = study.add_players(&roster).map_err(|e| fail(e, file))?;
    print(&format!("{} added to the study\n", count(added, "player")))?;
    let of = |missing: &dyn Fn(&Player) -> bool| {
        let aliases: Vec<&str> =
            roster.players.iter().map(|(_, p)| p).filter(|p| missing(p)).map(|p| p.alias.as_str()).collect();
        (!aliases.is_empty()).then(|| some(&aliases))
    };
    if let Some(whose) = of(&|p| p.hand.is_none()) {
        eprintln!("the hand is not stated: right is assumed, with a doubt, of {whose}");
    }
    if let Some(whose) = of(&|p| p.consent_on.is_none()) {
        eprintln!("no consent is written down of {whose}; columns consent_on and consent_to would hold it");
    }
    for words in roster.players.iter().filter_map(|(_, p)| minor(p, &date::today())) {
        eprintln!("{words}");
    }
    Ok(None)
}

/// A few of many names.
fn some(names: &[&str]) -> String {
    const SHOWN: usize = 5;
    let first = names.iter().take(SHOWN).copied().collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(SHOWN) {
        0 => first,
        more => format!("{first} and {more} more"),
    }
}

/// What is missing to measure and to keep, on standard error.
fn remind(player: &Player) {
    let alias = &player.alias;
    if player.hand.is_none() {
        eprintln!(
            "the hand is not stated: right is assumed, with a doubt; `underfoot player edit {alias} --hand …`"
        );
    }
    if player.consent_on.is_none() {
        eprintln!(
            "no consent is written down; `underfoot player edit {alias} --consent-on DAY --consent-to WORDS`"
        );
    }
    if let Some(words) = minor(player, &date::today()) {
        eprintln!("{words}");
    }
}

/// A player who is or may be under age, from the year of birth.
///
/// Source: common practice, no source: a guardian consents for whoever is under 18; local law decides.
fn minor(player: &Player, day: &str) -> Option<String> {
    let born = player.born?;
    let years = date::year(day)? - born;
    let is = match years {
        ..=17 => "is under 18",
        18 => "may still be under 18",
        _ => return None,
    };
    Some(format!(
        "{} (born {born}) {is}: a guardian's consent is needed; say in --consent-to who gave it",
        player.alias
    ))
}

fn list(options: &List) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let players = study.players().map_err(of)?;
    let sessions = study.sessions(None).map_err(of)?;
    let mut rows = Vec::with_capacity(players.len());
    for player in players {
        let identity = match options.names {
            true => study.identity(player.id).map_err(of)?,
            false => None,
        };
        let count = sessions.iter().filter(|s| s.player == player.id).count();
        rows.push((player, identity, count));
    }
    if options.json {
        let all: Vec<_> = rows
            .iter()
            .map(|(player, identity, sessions)| {
                let mut one = json!(player);
                one["sessions"] = json!(sessions);
                if options.names {
                    one["identity"] = json!(identity);
                }
                one
            })
            .collect();
        print_json(&json!({ "schema": "underfoot.players/1", "players": all }))?;
        return Ok(None);
    }
    if rows.is_empty() {
        print("no player yet; `underfoot player add P01 --hand right` adds one\n")?;
        return Ok(None);
    }
    print(&table(&rows, options.names))?;
    Ok(None)
}

fn table(rows: &[(Player, Option<Identity>, usize)], names: bool) -> String {
    let mut columns = vec![
        Align::Left,
        Align::Left,
        Align::Left,
        Align::Right,
        Align::Right,
        Align::Left,
        Align::Left,
        Align::Right,
    ];
    let mut head = vec!["player", "hand", "sex", "handicap", "born", "consent", "keep until", "sessions"];
    if names {
        columns.extend([Align::Left, Align::Left]);
        head.extend(["name", "contact"]);
    }
    let dash = || "—".to_string();
    let mut table = Table::new(&columns);
    table.row(head).rule();
    for (p, identity, sessions) in rows {
        let mut cells = vec![
            p.alias.clone(),
            p.hand.clone().unwrap_or_else(dash),
            p.sex.clone().unwrap_or_else(dash),
            p.handicap.map_or_else(dash, index),
            p.born.map_or_else(dash, |b| b.to_string()),
            p.consent_on.clone().unwrap_or_else(dash),
            p.keep_until.clone().unwrap_or_else(dash),
            sessions.to_string(),
        ];
        if names {
            cells.push(identity.as_ref().map_or_else(dash, |i| i.name.clone()));
            cells.push(identity.as_ref().map_or_else(String::new, |i| i.contact.clone()));
        }
        table.row(cells);
    }
    table.text()
}

/// A handicap index as golfers write it.
fn index(handicap: f64) -> String {
    if handicap < 0.0 { format!("+{}", plain(-handicap, 1)) } else { plain(handicap, 1) }
}

fn edit(options: &Edit) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let before = study.player_called(&options.alias).map_err(of)?;
    let mut after = options.known.onto(before.clone());
    if let Some(alias) = &options.rename {
        after.alias = alias.trim().to_string();
    }
    for field in &options.clear {
        match field {
            Field::Hand => after.hand = None,
            Field::Sex => after.sex = None,
            Field::Handicap => after.handicap = None,
            Field::Born => after.born = None,
            Field::Note => after.note.clear(),
            Field::Consent => (after.consent_on, after.consent_to) = (None, String::new()),
            Field::KeepUntil => after.keep_until = None,
        }
    }
    if after == before {
        return Err(
            Fail::usage("nothing to change was said").fix("`underfoot player edit --help` has what can be")
        );
    }
    study.edit_player(&before, &after).map_err(of)?;
    eprintln!("{} is changed", after.alias);
    if let Some(words) = minor(&after, &date::today()) {
        eprintln!("{words}");
    }
    measure_again(&study, before.hand != after.hand, options.json)
}

/// Says what a change has made out of date, measures it again, and tells what came out otherwise.
pub fn measure_again(study: &Study, touches: bool, json: bool) -> Done {
    let of = |e| fail(e, &study.root);
    let mut again = Vec::new();
    if touches {
        let (basis, _) = study.usual_basis().map_err(of)?;
        let stale: Vec<i64> = study.stale(basis, false).map_err(of)?.iter().map(|w| w.swing).collect();
        if !stale.is_empty() {
            eprintln!("{} out of date ({}), measured again now", count(stale.len(), "swing"), ranges(&stale));
        }
        again = study.catch_up(false).map_err(of)?;
    }
    tell(study, &again, json)?;
    Ok(None)
}

fn due(options: &Due) -> Done {
    let study = options.study.open()?;
    let day = options.on.clone().unwrap_or_else(date::today);
    let (past, without) = study.due(&day).map_err(|e| fail(e, &study.root))?;
    let players = study.players().map_err(|e| fail(e, &study.root))?;
    let minors: Vec<(&Player, String)> = players.iter().filter_map(|p| Some((p, minor(p, &day)?))).collect();
    if options.json {
        let alias = |p: &Player| json!({ "player": p.alias, "keep_until": p.keep_until, "born": p.born });
        print_json(&json!({
            "schema": "underfoot.due/1",
            "on": day,
            "past_keep_until": past.iter().map(alias).collect::<Vec<_>>(),
            "without_consent": without.iter().map(alias).collect::<Vec<_>>(),
            "guardian": minors.iter().map(|(p, _)| alias(p)).collect::<Vec<_>>(),
        }))?;
        return Ok(None);
    }
    let mut out = String::new();
    if past.is_empty() && without.is_empty() && minors.is_empty() {
        out = format!("on {day} nobody is due: all recordings may be kept, all consents are written down\n");
    }
    if !past.is_empty() {
        out.push_str(&format!(
            "past their day on {day}: delete with `underfoot player delete`, or agree on a later one\n"
        ));
        let mut table = Table::new(&[Align::Left, Align::Left]);
        for p in &past {
            table.row([
                p.alias.clone(),
                format!("to be kept until {}", p.keep_until.as_deref().unwrap_or("—")),
            ]);
        }
        out.push_str(&table.text());
    }
    if !without.is_empty() {
        let names: Vec<&str> = without.iter().map(|p| p.alias.as_str()).collect();
        out.push_str(&format!(
            "{} without a written consent: {}\n",
            count(without.len(), "player"),
            names.join(", ")
        ));
    }
    for (_, words) in &minors {
        out.push_str(words);
        out.push('\n');
    }
    print(&out)?;
    Ok(None)
}

fn name(options: &Name) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let player = study.player_called(&options.alias).map_err(of)?;
    let alias = &player.alias;
    match (&options.name, options.remove) {
        (Some(name), _) => {
            let contact = options.contact.clone().unwrap_or_default();
            let identity = Identity { name: name.clone(), contact };
            study.set_identity(player.id, Some(&identity)).map_err(of)?;
            print(&format!("the name of {alias} is written down\n"))?;
        }
        (None, true) => {
            study.set_identity(player.id, None).map_err(of)?;
            print(&format!(
                "the name of {alias} is taken away; `underfoot study vacuum` also clears what the disk may remember\n"
            ))?;
        }
        (None, false) => match study.identity(player.id).map_err(of)? {
            Some(who) => print(&format!("{alias}: {}  {}\n", who.name, who.contact))?,
            None => print(&format!("no name is written down for {alias}\n"))?,
        },
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn a_plus_handicap_is_better_than_scratch() {
        assert_eq!(handicap("12.4"), Ok(12.4));
        assert_eq!(handicap("+2.1"), Ok(-2.1));
        assert_eq!((index(-2.1).as_str(), index(12.4).as_str()), ("+2.1", "12.4"));
        assert!(handicap("scratch").is_err());
    }

    /// Common practice, no source: under 18 a guardian consents. Only the year is known, so 18 in the year may be 17 on the day.
    #[test]
    fn who_may_be_under_age_is_said() {
        let born = |year| Player { born: Some(year), ..Player::called("P01") };
        assert!(minor(&born(2012), "2026-05-12").unwrap().contains("is under 18"));
        assert!(minor(&born(2008), "2026-05-12").unwrap().contains("may still be"));
        assert_eq!(minor(&born(2007), "2026-05-12"), None);
        assert_eq!(minor(&Player::called("P01"), "2026-05-12"), None);
    }
}

//! When a file that is being written is worth reading. No clock and no file here: instants are handed in.
use super::WatchSettings;
use std::time::{Duration, Instant, SystemTime};

/// What a file looks like from outside; as long as it is the same, the file is taken to be unchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seen {
    /// Its size.
    pub bytes: u64,
    /// Its time of change.
    pub modified: SystemTime,
}

/// What was noticed of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// It was made or written to.
    Written,
    /// Whoever wrote it closed it.
    Closed,
    /// It got this name: what is renamed has mostly been closed.
    Moved,
    /// Who may read it may have changed.
    Permitted,
    /// It was come upon; nobody said anything.
    Found,
}

/// A file that is to be read once it is whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Pending {
    /// As last seen.
    pub seen: Seen,
    /// When it was first noticed.
    pub noticed: Instant,
    /// When it was last noticed to change.
    pub changed: Instant,
    /// True where nobody has it open for writing any more, as far as is known.
    pub closed: bool,
    /// When it is to be read.
    pub look_at: Instant,
    /// How often in a row it could not be opened, or not be put into the study.
    pub tries: u32,
    /// How long it is left after the first of them.
    pause: Duration,
    /// Why it has not been taken in.
    pub why: String,
    /// Whether that was told.
    pub told: bool,
}

impl Pending {
    /// A file that was just noticed. `ends`: files of its kind say where they end.
    pub fn new(seen: Seen, sign: Sign, now: Instant, ends: bool, how: &WatchSettings) -> Self {
        let mut pending = Self {
            seen,
            noticed: now,
            changed: now,
            closed: matches!(sign, Sign::Closed | Sign::Moved),
            look_at: now,
            tries: 0,
            pause: how.pause,
            why: String::new(),
            told: false,
        };
        pending.look_at += pending.settling(ends, how);
        pending
    }

    /// Something was noticed of it.
    pub fn notice(&mut self, seen: Seen, sign: Sign, now: Instant, ends: bool, how: &WatchSettings) {
        let differs = seen != self.seen;
        self.seen = seen;
        match sign {
            Sign::Written => (self.changed, self.closed) = (now, false),
            Sign::Closed | Sign::Moved => (self.changed, self.closed) = (now, true),
            // Somebody wrote, and the system did not say so: nor would it say that the file was closed.
            Sign::Found | Sign::Permitted if differs => (self.changed, self.closed) = (now, false),
            Sign::Permitted => {
                (self.look_at, self.tries) = (now, 0);
                return;
            }
            Sign::Found => return,
        }
        self.tries = 0;
        self.look_at = self.changed + self.settling(ends, how);
    }

    /// True where only time can tell: it has changed since it was noticed, or cannot be opened.
    pub fn is_open(&self) -> bool {
        self.tries > 0 || self.changed > self.noticed
    }

    /// How long it must have been unchanged before it is trusted. `ends`: it says where it ends.
    pub fn settling(&self, ends: bool, how: &WatchSettings) -> Duration {
        match (ends, self.closed) {
            (true, true) => Duration::ZERO,
            (true, false) => how.settle,
            (false, true) => how.settle_closed,
            (false, false) => how.settle_open,
        }
    }

    /// It could not be opened, or the study was busy: it is tried again after a pause that grows.
    pub fn again_later(&mut self, why: String, now: Instant) {
        self.tries += 1;
        self.why = why;
        self.look_at = now + self.pause * (1 << self.tries.saturating_sub(1).min(6));
    }

    /// It is not whole. True where it has been like this for so long that it is to be told; otherwise it is read once more then.
    pub fn not_whole(&mut self, why: String, now: Instant, how: &WatchSettings) -> bool {
        self.why = why;
        self.look_at = self.changed + how.quiet;
        now >= self.look_at
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn how() -> WatchSettings {
        WatchSettings::of(1)
    }

    fn seen(bytes: u64) -> Seen {
        Seen { bytes, modified: SystemTime::UNIX_EPOCH }
    }

    /// Milliseconds from the beginning until it is to be read.
    fn due(pending: &Pending, begin: Instant) -> u128 {
        pending.look_at.duration_since(begin).as_millis()
    }

    #[test]
    fn a_file_that_ends_where_it_says_is_read_when_it_is_closed_or_settled() {
        let begin = Instant::now();
        let at = |ms: u64| begin + Duration::from_millis(ms);
        let mut file = Pending::new(seen(0), Sign::Written, begin, true, &how());
        assert_eq!(due(&file, begin), 40);
        file.notice(seen(10), Sign::Written, at(30), true, &how());
        assert_eq!(due(&file, begin), 70);
        file.notice(seen(10), Sign::Closed, at(35), true, &how());
        assert_eq!(due(&file, begin), 35);
        file.notice(seen(20), Sign::Found, at(36), true, &how());
        assert_eq!((due(&file, begin), file.closed), (76, false));
        file.notice(seen(20), Sign::Found, at(70), true, &how());
        assert_eq!(due(&file, begin), 76, "nothing new puts nothing off");
    }

    #[test]
    fn a_table_is_given_time_even_when_it_is_closed() {
        let begin = Instant::now();
        let mut file = Pending::new(seen(0), Sign::Written, begin, false, &how());
        assert_eq!(due(&file, begin), 1000);
        file.notice(seen(10), Sign::Closed, begin, false, &how());
        assert_eq!(due(&file, begin), 150);
    }

    #[test]
    fn a_file_that_was_come_upon_must_be_seen_twice() {
        let begin = Instant::now();
        assert_eq!(due(&Pending::new(seen(9), Sign::Found, begin, true, &how()), begin), 40);
        assert_eq!(due(&Pending::new(seen(9), Sign::Found, begin, false, &how()), begin), 1000);
    }

    #[test]
    fn what_cannot_be_opened_is_tried_less_and_less_often_until_it_may_be() {
        let begin = Instant::now();
        let mut file = Pending::new(seen(10), Sign::Closed, begin, true, &how());
        let mut pauses = Vec::new();
        for _ in 0..9 {
            file.again_later("no".into(), begin);
            pauses.push(due(&file, begin));
        }
        assert_eq!(pauses, [50, 100, 200, 400, 800, 1600, 3200, 3200, 3200]);
        file.notice(seen(10), Sign::Permitted, begin, true, &how());
        assert_eq!((due(&file, begin), file.tries), (0, 0));
    }

    #[test]
    fn half_a_file_is_told_of_only_when_nothing_has_come_for_long() {
        let begin = Instant::now();
        let at = |ms: u64| begin + Duration::from_millis(ms);
        let mut file = Pending::new(seen(10), Sign::Closed, begin, true, &how());
        assert!(!file.not_whole("cut".into(), at(1), &how()));
        assert_eq!(due(&file, begin), 3000);
        file.notice(seen(20), Sign::Written, at(2900), true, &how());
        assert!(!file.not_whole("cut".into(), at(3000), &how()));
        assert!(file.not_whole("cut".into(), at(5900), &how()));
    }
}

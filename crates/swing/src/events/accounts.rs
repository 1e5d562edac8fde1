//! The accounts of a swing, a value every few milliseconds: enough to see a body move.
use crate::analyse::Swing;

/// Length of a block, s: a fifth of a mains period or so, short beside any movement of a body.
const BLOCK_S: f64 = 0.005;

/// Mean of each account over blocks of equal length; the last, incomplete block is left out.
pub(super) struct Accounts {
    /// Samples in a block.
    pub(super) block: usize,
    /// Samples a second.
    pub(super) rate_hz: f64,
    /// The accounts in which a movement shows, N or N·m; 0 where one is not defined.
    pub(super) moving: Vec<Account>,
    /// Total vertical force, N.
    pub(super) up_n: Vec<f64>,
    /// Lead less trail vertical force, N; with one plate `None`.
    pub(super) split_n: Option<Vec<f64>>,
    /// Net centre of pressure toward the target, m; the last defined one where there is none.
    pub(super) cop_target_m: Vec<f64>,
}

/// One account.
pub(super) struct Account {
    /// For people.
    pub(super) name: &'static str,
    /// A value a block.
    pub(super) values: Vec<f64>,
}

impl Accounts {
    /// Blocks of a swing's accounts. `None` without a rate or with fewer than a hundred blocks.
    pub(super) fn of(swing: &Swing) -> Option<Self> {
        let rate_hz = swing.rate_hz;
        if !(rate_hz > 0.0 && rate_hz.is_finite()) {
            return None;
        }
        let block = ((rate_hz * BLOCK_S).round() as usize).max(1);
        let mean = |f: &dyn Fn(usize) -> f64, n: usize| -> Vec<f64> {
            (0..n / block)
                .map(|b| (b * block..(b + 1) * block).map(f).sum::<f64>() / block as f64)
                .map(|v| if v.is_finite() { v } else { 0.0 })
                .collect()
        };
        let ledger = &swing.ledger;
        let net = &ledger.net;
        let n = net.up_n.len();
        if n / block < 100 {
            return None;
        }
        let account = |name, f: &dyn Fn(usize) -> f64| Account { name, values: mean(f, n) };
        let mut moving = vec![
            account("net target", &|k| net.target_n[k]),
            account("net toe", &|k| net.toe_n[k]),
            account("turn about the net cop", &|k| net.free_moment_nm[k]),
        ];
        let mut split_n = None;
        if let (Some(lead), Some(trail)) = (&ledger.lead, &ledger.trail) {
            moving.push(account("split of the weight", &|k| lead.up_n[k] - trail.up_n[k]));
            moving
                .push(account("opposed toe\u{2013}heel shear", &|k| (lead.toe_n[k] - trail.toe_n[k]) / 2.0));
            moving.push(account("opposed target shear", &|k| (lead.target_n[k] - trail.target_n[k]) / 2.0));
            split_n = moving.get(3).map(|a| a.values.clone());
        }
        let mut cop_target_m = mean(&|k| net.cop_target_m[k], n);
        hold(&mut cop_target_m);
        if split_n.is_none() {
            // As a moment, so that it weighs like one: weight times place.
            moving.push(account("place of the net cop", &|k| net.cop_target_m[k] * net.up_n[k]));
        }
        let up_n = mean(&|k| net.up_n[k], n);
        moving.push(Account { name: "net up", values: up_n.clone() });
        Some(Self { block, rate_hz, moving, up_n, split_n, cop_target_m })
    }

    /// Blocks.
    pub(super) fn len(&self) -> usize {
        self.up_n.len()
    }
    /// Blocks in so many seconds.
    pub(super) fn blocks(&self, seconds: f64) -> usize {
        (seconds * self.rate_hz / self.block as f64).round() as usize
    }
    /// Length of a block, s.
    pub(super) fn step_s(&self) -> f64 {
        self.block as f64 / self.rate_hz
    }
    /// The middle of a block (or a place between two), s from the first sample.
    pub(super) fn time_s(&self, block: f64) -> f64 {
        ((block + 0.5) * self.block as f64 - 0.5) / self.rate_hz
    }
}

/// Nothing in place of a centre of pressure is no place: the last one stays.
fn hold(column: &mut [f64]) {
    for k in 1..column.len() {
        if column[k] == 0.0 {
            column[k] = column[k - 1];
        }
    }
}

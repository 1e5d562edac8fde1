//! Days: a player's usual swing is not quite the same on another day, and every swing of that day is built on it.
use crate::chance::{Chance, Purpose};
use crate::player::PlayerSpec;
use crate::style::Move;

/// Standard deviations from day to day, on top of [`crate::Scatter`]. Sizes are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Days {
    /// Of all pushes of one kind (up, target, toe, each pair of opposed shears, each free moment) together, relative.
    pub size: f64,
    /// Of the duration of the backswing, of the downswing and of the follow-through, relative.
    pub tempo: f64,
    /// Of the distance between the feet, m.
    pub stance_m: f64,
}

impl Days {
    /// A practised player: about a third of what one swing differs from the next.
    pub const USUAL: Self = Self { size: 0.015, tempo: 0.005, stance_m: 0.004 };
    /// Every day the same.
    pub const NONE: Self = Self { size: 0.0, tempo: 0.0, stance_m: 0.0 };
}

impl PlayerSpec {
    /// The player as on one day. Same seed, same day; a seed is one day of one player.
    pub fn on_day(&self, days: &Days, seed: u64) -> Self {
        let mut chance = Chance::new(seed, 0, Purpose::Day);
        let mut player = self.clone();
        let style = &mut player.style;
        let pushes = [
            &mut style.up,
            &mut style.target,
            &mut style.toe,
            &mut style.oppose_target_pushes,
            &mut style.oppose_toe,
            &mut style.free_lead,
            &mut style.free_trail,
        ];
        for moves in pushes {
            let times = 1.0 + days.size * chance.tame();
            moves.iter_mut().for_each(|m: &mut Move| m.size *= times);
        }
        for span in [&mut player.backswing_s, &mut player.downswing_s, &mut player.follow_s] {
            *span *= 1.0 + days.tempo * chance.tame();
        }
        player.stance_m += days.stance_m * chance.tame();
        player
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Style;

    #[test]
    fn a_day_is_its_seed_and_as_large_as_stated() {
        let usual = PlayerSpec::right(Style::early());
        assert_eq!(usual.on_day(&Days::NONE, 5), usual);
        assert_eq!(usual.on_day(&Days::USUAL, 5), usual.on_day(&Days::USUAL, 5));
        let days = 4000;
        let gains: Vec<[f64; 3]> = (0..days)
            .map(|seed| {
                let day = usual.on_day(&Days::USUAL, seed);
                let up = |k: usize| day.style.up[k].size / usual.style.up[k].size;
                assert!((up(0) - up(3)).abs() < 1e-12, "all pushes of a kind go together");
                [up(3), day.style.target[2].size / usual.style.target[2].size, day.stance_m - usual.stance_m]
            })
            .collect();
        // A normal held within ±2.5 has a standard deviation of 0.988; 4000 of them tell it to 1.1 %.
        for (k, sd) in [0.015, 0.015, 0.004].into_iter().enumerate() {
            let centre = if k == 2 { 0.0 } else { 1.0 };
            let mean = gains.iter().map(|g| g[k] - centre).sum::<f64>() / days as f64;
            let var = gains.iter().map(|g| (g[k] - centre - mean).powi(2)).sum::<f64>() / (days - 1) as f64;
            assert!(mean.abs() < 4.0 * sd / (days as f64).sqrt(), "{k}: {mean}");
            assert!((var.sqrt() / (0.988 * sd) - 1.0).abs() < 0.05, "{k}: {}", var.sqrt());
        }
        let product: f64 = gains.iter().map(|g| (g[0] - 1.0) * (g[1] - 1.0)).sum::<f64>() / days as f64;
        assert!((product / 0.015f64.powi(2)).abs() < 0.1, "kinds of push go each its own way: {product}");
    }
}

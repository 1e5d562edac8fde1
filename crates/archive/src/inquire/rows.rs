//! The swings of a choice, as rows of a table.
use crate::error::StudyError;
use crate::select::{Selection, from};
use crate::study::{Look, Study};
use rusqlite::params_from_iter;
use view::claim::table::SwingOf;

/// A swing, and its body weight as it was measured on a way to look, N.
pub(super) type Row = (SwingOf, Option<f64>);

impl Study {
    /// Swings chosen as they are usually looked at, by player, day, session and number.
    pub(super) fn rows(
        &self,
        look: &Look<'_>,
        selection: &Selection,
        basis: i64,
    ) -> Result<Vec<Row>, StudyError> {
        let (usual, _) = self.usual_basis()?;
        let condition = selection.condition(self, usual)?;
        let mut ask = look.prepare(&format!(
            "SELECT w.id, p.alias, s.id, s.date, w.number, w.club, m.feet, coalesce(r.name, ''), p.sex, p.handicap,
             (SELECT body_weight_n FROM measurement b WHERE b.basis = {basis} AND b.swing = w.id)
             {} LEFT JOIN rig r ON r.id = s.rig WHERE {} ORDER BY p.alias_key, s.date, s.id, w.number",
            from(usual),
            condition.text
        ))?;
        let rows = ask.query_map(params_from_iter(condition.values.iter()), |r| {
            let swing = SwingOf {
                swing: r.get(0)?,
                player: r.get(1)?,
                session: r.get(2)?,
                date: r.get(3)?,
                number: r.get(4)?,
                club: r.get(5)?,
                feet: r.get(6)?,
                rig: r.get(7)?,
                sex: r.get(8)?,
                handicap: r.get(9)?,
            };
            Ok((swing, r.get(10)?))
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

//! What a session's recordings are measured with, kept ready between them, and looked up again after any other program has
//! changed the study.
use super::follow::data_version;
use crate::error::StudyError;
use crate::import::{Incoming, Recipes};
use crate::keep;
use crate::recipe::Basis;
use crate::study::Study;
use crate::wanted::edition;
use formats::rigfile::RigFile;
use std::path::Path;

/// Everything that a recording needs on its way in.
pub struct Desk {
    session: i64,
    version: i64,
    /// The row of the usual basis.
    pub basis_id: i64,
    /// The usual basis.
    pub basis: Basis,
    /// Recipe and rig of the session.
    pub recipes: Recipes,
    /// What all of it hashes to: with the same, the same comes of the same file.
    pub tried: String,
}

impl Desk {
    /// For a session.
    pub fn of(study: &Study, session: i64) -> Result<Self, StudyError> {
        // Asked first: what is changed between the two is looked up once more.
        let version = data_version(study)?;
        let (basis_id, basis) = study.usual_basis()?;
        let recipes = Recipes::of(study, &[Incoming::new(Path::new(""), session)])?;
        let recipe = recipes.of_session.get(&session).map(|(recipe, _)| recipe.text()).transpose()?;
        let tried = keep::hash(format!("{}\n{}", recipe.unwrap_or_default(), edition()).as_bytes());
        Ok(Self { session, version, basis_id, basis, recipes, tried })
    }

    /// Looks everything up again if the study has changed; true where recordings would be measured otherwise now.
    pub fn refresh(&mut self, study: &Study) -> Result<bool, StudyError> {
        if data_version(study)? == self.version {
            return Ok(false);
        }
        let fresh = Self::of(study, self.session)?;
        let differs = fresh.tried != self.tried;
        *self = fresh;
        Ok(differs)
    }

    /// The session's rig.
    pub fn rig(&self) -> Option<&RigFile> {
        let (_, rig) = self.recipes.of_session.get(&self.session)?;
        rig.as_ref()?.file.as_deref().ok()
    }
}

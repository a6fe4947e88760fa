//! Whether what was taught in a class shows up in rolling: how often it was used before and since,
//! by those who were there and by those who weren't.

use std::collections::HashSet;
use std::sync::Arc;

use academy::Class;
use figures::AthleteId;
use figures::taught::Use;
use reports::sentences::{self, Said};
use store::MemberId;
use talk::lexicon::{Form, TermKind};

use crate::error::PageError;
use crate::figures::{Known, athlete};
use crate::state::App;

/// What a technique of the class did.
pub(super) struct TaughtView {
    pub(super) there: Said,
    pub(super) elsewhere: Said,
}

impl App {
    /// The techniques that a text names, as the lexicon calls them, in its order.
    fn techniques_in(&self, text: &str) -> Vec<String> {
        let words = |text: &str| -> Vec<String> {
            let parts = text.split(|c: char| !c.is_alphanumeric());
            parts.filter(|part| !part.is_empty()).map(str::to_lowercase).collect()
        };
        let text = words(text);
        let reader = self.reader();
        let lexicon = reader.lexicon();
        let named = |form: &Form| {
            let form = words(&form.text);
            !form.is_empty() && text.windows(form.len()).any(|piece| piece == form)
        };
        let mut found: Vec<String> = Vec::new();
        for form in lexicon.forms().iter().filter(|form| !form.everyday && named(form)) {
            let term = lexicon.term(form.term);
            let taught = matches!(term.kind, TermKind::Technique | TermKind::Submission);
            if taught && !found.contains(&term.name) {
                found.push(term.name.clone());
            }
        }
        found
    }

    /// What became of what was taught in a class.
    pub(super) async fn taught(
        &self,
        known: &Arc<Known>,
        class: &Class,
        attended: &HashSet<MemberId>,
    ) -> Result<Vec<TaughtView>, PageError> {
        let (app, text) = (self.clone(), format!("{} {}", class.topic, class.title));
        let techniques = tokio::task::spawn_blocking(move || app.techniques_in(&text)).await;
        let techniques = techniques.map_err(|error| PageError::Fault(error.to_string()))?;
        let there: Vec<AthleteId> = attended.iter().map(|id| athlete(*id)).collect();
        if techniques.is_empty() {
            return Ok(Vec::new());
        }
        let used = self.uses(known, (techniques.clone(), class.date), there).await?;
        let view = |(technique, [there, elsewhere]): (&String, &[Use; 2])| TaughtView {
            there: sentences::taught(technique, there, "those who were there"),
            elsewhere: sentences::taught(technique, elsewhere, "those who weren't there"),
        };
        Ok(techniques.iter().zip(used.iter()).map(view).collect())
    }
}

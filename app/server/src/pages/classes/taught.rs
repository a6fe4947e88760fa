//! Whether what was taught in a class shows up in rolling: how often it was used before and since,
//! by those who were there and by those who weren't.

use std::collections::HashSet;
use std::sync::Arc;

use academy::Class;
use figures::AthleteId;
use figures::overview::Selection;
use figures::taught::used;
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
        let techniques = self.techniques_in(&format!("{} {}", class.topic, class.title));
        let there: HashSet<AthleteId> = attended.iter().map(|id| athlete(*id)).collect();
        let (known, day) = (known.clone(), class.date);
        let work = move || {
            let rounds = known.selected(&Selection::default());
            let view = |technique: &String| TaughtView {
                there: sentences::taught(
                    technique,
                    &used(&rounds, technique, day, |who| there.contains(&who)),
                    "those who were there",
                ),
                elsewhere: sentences::taught(
                    technique,
                    &used(&rounds, technique, day, |who| !there.contains(&who)),
                    "those who weren't",
                ),
            };
            techniques.iter().map(view).collect()
        };
        tokio::task::spawn_blocking(work).await.map_err(|error| PageError::Fault(error.to_string()))
    }
}

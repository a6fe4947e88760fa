//! Doing what a preview showed, as one change that one undo takes back.

use super::Preview;
use crate::book::Book;
use crate::change::{By, Subject};
use crate::error::StoreError;

/// How many people an import touched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// People that are new.
    pub new: usize,
    /// People that changed.
    pub changed: usize,
    /// Rows that were left out.
    pub left_out: usize,
}

impl Preview {
    /// How many rows have problems.
    #[must_use]
    pub fn problem_rows(&self) -> usize {
        let mut lines: Vec<u64> = self.problems.iter().map(|problem| problem.line).collect();
        lines.dedup();
        lines.len()
    }
}

fn people(count: usize) -> String {
    format!("{count} {}", if count == 1 { "person" } else { "people" })
}

impl Book {
    /// Does what a preview showed. Rows with problems are left out only where `leave_out` says so.
    ///
    /// # Errors
    /// [`StoreError::Refused`] while there are problem rows; [`StoreError::OutOfDate`] if somebody
    /// changed one of these people since the preview was made. Then nothing was changed.
    pub async fn import(
        &self,
        by: &By,
        preview: &Preview,
        leave_out: bool,
    ) -> Result<Imported, StoreError> {
        let left_out = preview.problem_rows();
        if left_out > 0 && !leave_out {
            let what = format!(
                "{left_out} of the rows cannot be taken: correct them, or say that they are to be \
                 left out"
            );
            return Err(StoreError::Refused(what));
        }
        let (new, changed) = (preview.new.len(), preview.changed.len());
        let what = match (new, changed) {
            (new, 0) => format!("Imported {}", people(new)),
            (0, changed) => format!("Changed {} by an import", people(changed)),
            (new, changed) => format!("Imported {} and changed {changed}", people(new)),
        };
        let mut change = self.change(Subject::Roster, by, &what).await?;
        for row in &preview.changed {
            if change.member(row.id).await? != Some(row.before.clone()) {
                return Err(StoreError::OutOfDate);
            }
            change.put_member(Some(row.id), &row.after).await?;
        }
        for row in &preview.new {
            change.put_member(None, &row.member).await?;
        }
        change.keep().await?;
        Ok(Imported { new, changed, left_out })
    }
}

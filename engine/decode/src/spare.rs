//! Working memory that is kept from one call to the next.

use std::sync::Mutex;

/// Memory that was used before: a piece for each caller that was at work at the same time.
#[derive(Debug, Default)]
pub(crate) struct Spare<T>(Mutex<Vec<T>>);

impl<T: Default> Spare<T> {
    /// Lends a piece that nobody uses, new where there is none.
    pub(crate) fn lend<R>(&self, work: impl FnOnce(&mut T) -> R) -> R {
        // Nothing can stop while it holds the lock; without one, memory is merely not kept.
        let kept = self.0.lock().ok().and_then(|mut kept| kept.pop());
        let mut piece = kept.unwrap_or_default();
        let result = work(&mut piece);
        if let Ok(mut kept) = self.0.lock() {
            kept.push(piece);
        }
        result
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_lent_comes_back_and_is_lent_to_one_at_a_time() {
        let spare = Spare::<Vec<u8>>::default();
        spare.lend(|outer| {
            outer.push(1);
            spare.lend(|inner| assert!(inner.is_empty()));
        });
        let lengths = spare.lend(|one| spare.lend(|other| one.len() + other.len()));
        assert_eq!(lengths, 1);
    }
}

//! What slows down guessing: after a few wrong passwords, for a name or from an address, each
//! further try has to wait longer. The wait comes before any hashing, and what is remembered is
//! bounded, so that a flood of tries costs next to nothing.

use std::net::IpAddr;
use std::num::NonZeroUsize;
use std::sync::{Mutex, PoisonError};

use lru::LruCache;

/// Names, and addresses, that are remembered. One address alone cannot push others out, since it
/// is made to wait long before.
const REMEMBERED: NonZeroUsize = NonZeroUsize::new(4096).expect("4096 is not zero");

/// Tries for one name before the first wait.
const FREE_FOR_A_NAME: u32 = 5;

/// Tries from one address before the first wait. More than for a name: a phone may be passed on.
const FREE_FROM_AN_ADDRESS: u32 = 10;

/// The longest wait, in seconds.
const LONGEST: i64 = 15 * 60;

/// Seconds without a try after which all is forgotten.
const FORGOTTEN: i64 = 60 * 60;

#[derive(Clone, Copy, Default)]
struct Tries {
    count: u32,
    wait_until: i64,
}

impl Tries {
    fn wait(self, now: i64) -> i64 {
        (self.wait_until - now).max(0)
    }

    /// Counts a try; the wait after it is 2, 4, 8 ... seconds.
    fn count(&mut self, free: u32, now: i64) {
        if now - self.wait_until > FORGOTTEN {
            self.count = 0;
        }
        self.count = self.count.saturating_add(1);
        let doublings = self.count.saturating_sub(free).min(20);
        let wait = if self.count < free { 0 } else { (2_i64 << doublings).min(LONGEST) };
        self.wait_until = now + wait;
    }
}

pub(super) struct Throttle {
    tries: Mutex<(LruCache<blake3::Hash, Tries>, LruCache<IpAddr, Tries>)>,
}

/// All names take the same room, however long.
fn key(login: &str) -> blake3::Hash {
    blake3::hash(login.trim().to_lowercase().as_bytes())
}

impl Throttle {
    pub(super) fn new() -> Self {
        Throttle { tries: Mutex::new((LruCache::new(REMEMBERED), LruCache::new(REMEMBERED))) }
    }

    /// Counts a try to log in, before anything of it is looked at.
    ///
    /// # Errors
    /// The seconds to wait before the next try; this one is not to be looked at.
    pub(super) fn attempt(&self, login: &str, from: IpAddr, now: i64) -> Result<(), i64> {
        let mut tries = self.tries.lock().unwrap_or_else(PoisonError::into_inner);
        let (names, addresses) = &mut *tries;
        let key = key(login);
        let waits = [names.get(&key).copied(), addresses.get(&from).copied()];
        let wait = waits.into_iter().flatten().map(|tries| tries.wait(now)).max().unwrap_or(0);
        // Whoever has to wait adds nothing to what is remembered, and so pushes nobody out.
        if wait > 0 {
            return Err(wait);
        }
        names.get_or_insert_mut(key, Tries::default).count(FREE_FOR_A_NAME, now);
        addresses.get_or_insert_mut(from, Tries::default).count(FREE_FROM_AN_ADDRESS, now);
        Ok(())
    }

    /// The last try was right. Earlier wrong ones from the address still count, or whoever has a
    /// login could guess others' passwords in between.
    pub(super) fn succeeded(&self, login: &str, from: IpAddr) {
        let mut tries = self.tries.lock().unwrap_or_else(PoisonError::into_inner);
        tries.0.pop(&key(login));
        if let Some(address) = tries.1.get_mut(&from) {
            address.count = address.count.saturating_sub(1);
            address.wait_until = 0;
        }
    }
}

/// A wait as people say it.
pub(super) fn in_words(seconds: i64) -> String {
    match seconds {
        ..=1 => "a second".to_owned(),
        2..=90 => format!("{seconds} seconds"),
        _ => format!("{} minutes", (seconds + 59) / 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(last: u16) -> IpAddr {
        let [high, low] = last.to_be_bytes();
        IpAddr::from([10, 0, high, low])
    }

    #[test]
    fn a_name_waits_longer_and_longer_from_wherever_it_is_tried() {
        let throttle = Throttle::new();
        let mut now = 1_000_000;
        for place in 0..5 {
            assert_eq!(throttle.attempt("Ines", address(place), now), Ok(()));
        }
        assert_eq!(throttle.attempt(" ines ", address(9), now), Err(2));
        assert_eq!(throttle.attempt("Petra", address(9), now), Ok(()));
        for wait in [2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900] {
            assert_eq!(throttle.attempt("Ines", address(9), now), Err(wait));
            now += wait;
            // From another place each time, so that only the name makes it wait.
            let place = u16::try_from(now % 60_000).unwrap();
            assert_eq!(throttle.attempt("Ines", address(place), now), Ok(()));
        }
        now += LONGEST + FORGOTTEN + 1;
        assert_eq!(throttle.attempt("Ines", address(1), now), Ok(()));
        assert_eq!(throttle.attempt("Ines", address(2), now), Ok(()));
    }

    #[test]
    fn a_right_password_ends_the_wait_of_the_name_but_not_of_who_guesses_others() {
        let throttle = Throttle::new();
        for _ in 0..4 {
            assert_eq!(throttle.attempt("Ines", address(1), 0), Ok(()));
        }
        throttle.succeeded("Ines", address(1));
        assert_eq!(throttle.attempt("Ines", address(1), 0), Ok(()));
        // Somebody with a login of their own guesses others' passwords in between.
        let guesses = (0..20).take_while(|other| {
            let guessed = throttle.attempt(&format!("other {other}"), address(2), 0).is_ok();
            if throttle.attempt("own", address(2), 0).is_ok() {
                throttle.succeeded("own", address(2));
            }
            guessed
        });
        assert_eq!(guesses.count(), 10);
    }

    #[test]
    fn what_is_remembered_is_bounded() {
        let throttle = Throttle::new();
        for number in 0..50_000_u32 {
            let from = address(u16::try_from(number % 60_000).unwrap());
            let _ = throttle.attempt(&"x".repeat(1 + number as usize % 50), from, 0);
            let _ = throttle.attempt(&number.to_string(), from, 0);
        }
        let tries = throttle.tries.lock().unwrap();
        assert_eq!((tries.0.len(), tries.1.len()), (REMEMBERED.get(), REMEMBERED.get()));
    }

    #[test]
    fn whoever_waits_makes_nobody_forgotten() {
        let throttle = Throttle::new();
        let now = 1_000_000;
        for place in 0..5 {
            assert_eq!(throttle.attempt("Ines", address(place), now), Ok(()));
        }
        for name in 0..10_000 {
            let _ = throttle.attempt(&format!("name {name}"), address(9), now);
        }
        assert_eq!(throttle.attempt("Ines", address(10), now), Err(2));
    }
}

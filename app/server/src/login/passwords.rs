//! Hashing passwords: slow by intent, so a few at a time and off the threads that serve pages.

use argon2::password_hash::{PasswordHash, SaltString};
use argon2::{Argon2, PasswordHasher as _, PasswordVerifier as _};
use tokio::sync::Semaphore;

use crate::error::PageError;

/// Passwords hashed at one time. Each takes 19 MiB while it is hashed.
const AT_ONCE: usize = 2;

/// A hash that no password has, of the same cost, so that an unknown name takes as long as a wrong
/// password.
const NOBODYS: &str = "$argon2id$v=19$m=19456,t=2,p=1$bm9ib2R5J3Mgc2FsdA\
    $AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";

pub(super) struct Passwords {
    places: Semaphore,
}

impl Passwords {
    pub(super) fn new() -> Self {
        Passwords { places: Semaphore::new(AT_ONCE) }
    }

    async fn work<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, PageError> + Send + 'static,
    ) -> Result<T, PageError> {
        let _place = self.places.acquire().await.map_err(fault)?;
        tokio::task::spawn_blocking(work).await.map_err(fault)?
    }

    /// The hash of a new password: argon2id with m = 19 MiB, t = 2, p = 1, the crate's defaults and
    /// the least that OWASP's password storage cheat sheet allows.
    pub(super) async fn hash(&self, password: &str) -> Result<String, PageError> {
        let password = password.to_owned();
        self.work(move || {
            let mut salt = [0; 16];
            getrandom::fill(&mut salt).map_err(fault)?;
            let salt = SaltString::encode_b64(&salt).map_err(fault)?;
            let hash = Argon2::default().hash_password(password.as_bytes(), &salt);
            Ok(hash.map_err(fault)?.to_string())
        })
        .await
    }

    /// Whether a password is the one of a kept hash; never, where there is none.
    pub(super) async fn fits(
        &self,
        password: &str,
        kept: Option<String>,
    ) -> Result<bool, PageError> {
        let password = password.to_owned();
        self.work(move || {
            let hash = kept.as_deref().unwrap_or(NOBODYS);
            let hash = PasswordHash::new(hash).map_err(fault)?;
            let fits = Argon2::default().verify_password(password.as_bytes(), &hash).is_ok();
            Ok(fits && kept.is_some())
        })
        .await
    }
}

fn fault(error: impl std::fmt::Display) -> PageError {
    PageError::Fault(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn only_the_password_itself_fits() {
        let passwords = Passwords::new();
        let kept = passwords.hash("half guard, knee shield").await.unwrap();
        assert!(kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{kept}");
        assert!(passwords.fits("half guard, knee shield", Some(kept.clone())).await.unwrap());
        assert!(!passwords.fits("half guard, knee shield ", Some(kept)).await.unwrap());
        assert!(!passwords.fits("", None).await.unwrap());
    }
}

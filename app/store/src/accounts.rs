//! Accounts.

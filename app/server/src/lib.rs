//! The web app: server-rendered pages over the book and the engine.
//!
//! This is an edge: a handler takes in, makes a few calls, and gives out. Reading order:
//! `routes` shows every URL on one screen; `safety`, `login` and `visitor` say who gets
//! through and as whom; `reading` turns what the book keeps into the ledger that is shown, and
//! `figures` all ledgers into figures; then `pages/`, one folder per page with its handlers, its
//! view and its template.

mod assets;
mod captions_form;
mod demo;
mod error;
mod fields;
mod figures;
mod frame;
mod login;
mod media;
mod pages;
mod reading;
mod routes;
mod safety;
mod serve;
mod spoken_names;
mod state;
mod uploads;
mod visitor;
mod wording;

pub use demo::DemoError;
pub use login::invitation::first_invitation;
pub use serve::{ServeError, ServeOptions, Serving, network_address, start};
pub use state::{Access, App};

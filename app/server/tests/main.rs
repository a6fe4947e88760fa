//! The pages over real HTTP on this machine, as browsers and others ask for them.

mod app;
mod outsiders;

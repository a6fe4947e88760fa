//! The pages over real HTTP on this machine, as people, browsers and others ask for them.

mod adds_up;
mod app;
mod browser;
mod connections;
mod development;
mod groups;
mod live;
mod logins;
mod names;
mod outsiders;
mod people;
mod reports;
mod round;
mod rounds;
mod told;
mod uploads;

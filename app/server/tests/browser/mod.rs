//! The pages as people use them, in a real browser. `driver` has the browser, `page` what a person
//! does with a page, `checks` what must hold of every page, `academy` the book that is served; the
//! other files are tests, one for each part of the program.

mod academy;
mod checks;
mod driver;
mod page;

mod development;
mod keyboard;
mod login;
mod pages;
mod people;
mod questions;
mod recording;
mod review;
mod rounds;
mod student;
mod uploads;

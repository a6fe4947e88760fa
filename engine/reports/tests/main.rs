//! Reports as their readers get them: the bytes, whether they are well-formed, and whether they
//! hold for every ledger.

mod any_ledger;
mod figure_rows;
mod invented;
mod letters;
mod map;
mod said;
mod sample;
mod shown;
mod small_pictures;

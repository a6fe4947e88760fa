//! What ledgers add up to: numbers, each with the count it rests on and an interval.
//!
//! The modules below, but for [`scoring`], are mathematics and know no grappling: they take numbers
//! and indices. Whoever wants a figure about people builds their input and words their output. Nothing here reads a
//! file, a clock or chance: a seed is an argument.
//!
//! Counts and times may carry weights between 0 and 1, so that what is only probable counts by its
//! probability; each function says what its interval then means.
//!
//! Reading order: [`interval`], then by question. How often: [`proportions`], [`exact_rates`],
//! [`pooling`], [`trend`]. How long until what: [`observations`], [`survival`],
//! [`competing_risks`], [`incidence_test`]. Whether two agree: [`agreement`]. Which of many
//! differences are more than chance: [`discoveries`]. What it is worth: [`reward_process`], with
//! [`sampling`] for how sure that is. [`distributions`] and [`linear`] serve the others.
//! [`scoring`] reads a round under a published rule set.

pub mod agreement;
pub mod competing_risks;
pub mod discoveries;
pub mod distributions;
pub mod exact_rates;
pub mod incidence_test;
pub mod interval;
pub mod linear;
pub mod observations;
pub mod pooling;
pub mod proportions;
pub mod reward_process;
pub mod sampling;
pub mod scoring;
pub mod survival;
pub mod trend;

//! What ledgers add up to: numbers, each with the count it rests on and an interval.
//!
//! Nothing here reads a file, a clock or chance: a seed is an argument. A module knows either
//! mathematics or grappling.
//!
//! # Grappling
//! Input are rounds as plain values ([`KnownRound`]): a date, a kind, two opaque ids and a ledger.
//! Belts and other things about people are arguments where a figure needs them. Nothing here knows
//! a name, a page or a store, and a round entered by hand counts like a guessed one.
//!
//! Every [`Figure`] has a value, the count it rests on, a 95 % interval and the share of its time
//! that a person told or confirmed. Its doc comment says what it is, in which units, and whose
//! formula.
//!
//! A guessed spell counts by its confidence, the probability that position and top are right:
//! expected seconds are length times confidence, and a change counts for the confidence of the spell
//! that it leaves: so changes and minutes of a place weigh alike. The rest of a doubtful spell, the
//! probability that it was something else, counts nowhere, because a ledger does not say what else.
//! So shares are shares of what was understood, and lean towards positions that are easy to hear;
//! rates do not change where all confidences of a round are equal. A blank stretch ([`stretch::is_blank`]) does not count at all, and nothing is followed across it.
//! Neighbouring spells of one place are one stretch, however often they are split.
//!
//! What intervals claim: limits say what other rounds of the same people may show. They do not say
//! how wrong guesses are. In simulation (`benches/recovery.rs` prints all of it):
//!
//! - Told or confirmed rounds: 91 to 98 of a hundred intervals hold the truth from ten rounds on
//!   (those of getting out 99 at ten). With five, shares of time miss it a little oftener (90), and
//!   those of getting out, worth, balance and gains are wider than they need be (98 to 99.5).
//! - Guesses with confidences of 0.6 to 1 that are right as often as they say, one doubt covering
//!   four spells, such as who is on top after an unheard reversal: rates of single habits come out
//!   too low by 5 %, and 95 to 98 hold; 87 to 89 drawn towards a belt whose rounds are confirmed.
//!   What is computed from many rates (worth, balance, gains) adds the errors up: 92 to 96 at
//!   twenty rounds, 77 to 83 at eighty.
//! - The same confidences spell by spell, a wrong one being any other place: rates come out too low
//!   by some 15 %; their intervals hold 98 at ten rounds, 91 at forty and 81 at eighty. With
//!   confidences of 0.9 to 1 it is 98, 96 and 95.
//!
//! On the sample rounds, each read by a reader that never heard its speaker, changes per minute come
//! out at 0.91 of the truth from captions without mistakes, 0.99 from automatic ones and 0.84 from
//! blocks of forty seconds; weighed by the less sure of the two spells they would at 0.81, 0.86 and
//! 0.73 (`grapevine evaluate` prints it).
//!
//! So the more rounds there are, the more it matters that they are confirmed: no interval repairs a
//! guess, and the share confirmed stands beside every figure.
//!
//! Reading order: [`known_round`], [`place`], [`stretch`], [`figure`]; one round: [`mod@round`],
//! [`meant`]; a student: [`getting_out`], [`tallies`] with [`habits`], [`mod@tries`] and
//! [`flows`], [`game`] with [`mod@worth`] and [`mod@train_next`], [`actions`] with [`balance`],
//! [`mod@moments`], [`taught`], [`over_time`]; a belt: [`mod@layers`]. [`overview`] puts all of it
//! together for a page or a report. [`mod@two_readings`] compares two ledgers of one round.
//! [`scoring`] reads a round under a published rule set.
//!
//! # Mathematics
//! These modules know no grappling: they take numbers and indices. Whoever wants a figure about
//! people builds their input and words their output.
//!
//! Counts and times may carry weights between 0 and 1, so that what is only probable counts by its
//! probability; each function says what its interval then means.
//!
//! Reading order: [`interval`], then by question. How often: [`proportions`], [`exact_rates`],
//! [`pooling`], [`trend`]. How long until what: [`observations`], [`survival`],
//! [`competing_risks`], [`incidence_test`]. Whether two agree: [`agreement`]. Which of many
//! differences are more than chance: [`discoveries`]. What it is worth: [`reward_process`], with
//! [`sampling`] for how sure that is. [`distributions`],
//! [`special_functions`] and [`linear`] serve the others.

pub mod actions;
pub mod agreement;
pub mod balance;
pub mod competing_risks;
pub mod discoveries;
pub mod distributions;
pub mod exact_rates;
pub mod figure;
pub mod flows;
pub mod game;
pub mod getting_out;
pub mod habits;
pub mod incidence_test;
pub mod interval;
pub mod known_round;
pub mod layers;
pub mod linear;
pub mod meant;
pub mod moments;
pub mod observations;
pub mod over_time;
pub mod overview;
pub mod place;
pub mod pooling;
pub mod proportions;
pub mod ratio;
pub mod reward_process;
pub mod round;
pub mod sampling;
pub mod scoring;
pub mod special_functions;
pub mod stretch;
pub mod survival;
pub mod tallies;
pub mod taught;
pub mod train_next;
pub mod trend;
pub mod tries;
pub mod two_readings;
pub mod worth;

pub use figure::Figure;
pub use known_round::{AthleteId, KnownRound};
pub use place::{Place, Role};

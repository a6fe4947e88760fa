//! The decoder seen from outside.

mod semi_markov;

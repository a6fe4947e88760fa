//! The mathematics seen from outside: published values, laws, and recorded readings.

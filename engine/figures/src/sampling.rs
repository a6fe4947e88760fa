//! Chance from a seed: the same seed gives the same draws on every machine.

/// A generator of 64-bit numbers: xoshiro256++ (Blackman and Vigna 2021, *ACM Transactions on
/// Mathematical Software* 47:36), its state filled from a seed by splitmix64 (Steele, Lea and Flood
/// 2014). Not for secrets.
#[derive(Clone, Debug)]
pub struct Draws {
    state: [u64; 4],
}

/// The next number of splitmix64, which moves its state on.
pub fn split_mix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A parameter of a distribution that is not positive and finite.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("a distribution needs positive parameters, not {0}")]
pub struct ParameterError(pub f64);

fn positive(parameter: f64) -> Result<f64, ParameterError> {
    let fits = parameter > 0.0 && parameter.is_finite();
    if fits { Ok(parameter) } else { Err(ParameterError(parameter)) }
}

impl Draws {
    /// From a seed; any will do.
    #[must_use]
    pub fn from_seed(seed: u64) -> Draws {
        let mut mix = seed;
        Draws { state: std::array::from_fn(|_| split_mix(&mut mix)) }
    }

    /// From a whole state; all zeros would stay zeros and count as seed 0.
    #[must_use]
    pub fn from_state(state: [u64; 4]) -> Draws {
        if state == [0; 4] { Draws::from_seed(0) } else { Draws { state } }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let drawn = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let shifted = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= shifted;
        s[3] = s[3].rotate_left(45);
        drawn
    }

    /// Evenly between 0 and 1, never either: 53 bits, from the middle of each step.
    pub fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// A standard normal number, by the polar method (Marsaglia and Bray 1964).
    pub fn normal(&mut self) -> f64 {
        loop {
            let (x, y) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let square = x * x + y * y;
            if square > 0.0 && square < 1.0 {
                return x * (-2.0 * square.ln() / square).sqrt();
            }
        }
    }

    /// The logarithm of a gamma number of this shape and rate 1, which does not vanish for small
    /// shapes (Marsaglia and Tsang 2000, *ACM TOMS* 26:363; below shape 1 by G(a + 1) U^(1/a)).
    ///
    /// # Errors
    /// Unless the shape is positive and finite.
    pub fn ln_gamma(&mut self, shape: f64) -> Result<f64, ParameterError> {
        let shape = positive(shape)?;
        if shape < 1.0 {
            let more = self.ln_gamma(shape + 1.0)?;
            return Ok(more + self.uniform().ln() / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let cube = (1.0 + c * x).powi(3);
            if cube > 0.0 && self.uniform().ln() < 0.5 * x * x + d - d * cube + d * cube.ln() {
                return Ok((d * cube).ln());
            }
        }
    }

    /// A gamma number of this shape and rate (mean shape / rate).
    ///
    /// # Errors
    /// Unless both are positive and finite.
    pub fn gamma(&mut self, shape: f64, rate: f64) -> Result<f64, ParameterError> {
        let rate = positive(rate)?;
        Ok(self.ln_gamma(shape)?.exp() / rate)
    }

    /// A beta number (mean a / (a + b)), from two gamma numbers.
    ///
    /// # Errors
    /// Unless both parameters are positive and finite.
    pub fn beta(&mut self, a: f64, b: f64) -> Result<f64, ParameterError> {
        let (x, y) = (self.ln_gamma(a)?, self.ln_gamma(b)?);
        Ok(1.0 / (1.0 + (y - x).exp()))
    }

    /// Shares that make 1, of a Dirichlet distribution (mean in proportion to the parameters).
    ///
    /// # Errors
    /// Unless all parameters are positive and finite.
    pub fn dirichlet(&mut self, parameters: &[f64]) -> Result<Vec<f64>, ParameterError> {
        let logs: Result<Vec<f64>, _> = parameters.iter().map(|a| self.ln_gamma(*a)).collect();
        let logs = logs?;
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let parts: Vec<f64> = logs.iter().map(|log| (log - most).exp()).collect();
        let sum: f64 = parts.iter().sum();
        Ok(parts.iter().map(|part| part / sum).collect())
    }
}

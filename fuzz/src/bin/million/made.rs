//! Made-up files.

/// The generator SplitMix64 (Steele, Lea, Flood 2014): small, fast and good enough for this.
pub(crate) struct Random(pub(crate) u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(crate) fn below(&mut self, limit: usize) -> usize {
        usize::try_from(self.next() % limit.max(1) as u64).unwrap_or(0)
    }
}

fn random_bytes(random: &mut Random) -> Vec<u8> {
    (0..random.below(300)).map(|_| random.next().to_le_bytes()[0]).collect()
}

/// What files of some kind are made of.
pub(crate) struct Kind {
    /// Beginnings that get a file past the first line of each reader.
    pub(crate) heads: &'static [&'static str],
    pub(crate) pieces: &'static [&'static str],
    /// Files of this kind.
    pub(crate) corpus: Vec<Vec<u8>>,
}

impl Kind {
    /// In turn: random bytes, pieces in random order, a file of the corpus with random changes.
    pub(crate) fn file(&self, number: u64, random: &mut Random) -> Vec<u8> {
        match number % 3 {
            0 => random_bytes(random),
            1 => self.pieces(random),
            _ => self.changed(random),
        }
    }

    fn pieces(&self, random: &mut Random) -> Vec<u8> {
        let mut bytes = self.heads[random.below(self.heads.len())].as_bytes().to_vec();
        for _ in 0..random.below(40) {
            bytes.extend_from_slice(self.pieces[random.below(self.pieces.len())].as_bytes());
        }
        bytes
    }

    fn changed(&self, random: &mut Random) -> Vec<u8> {
        let mut bytes = self.corpus[random.below(self.corpus.len())].clone();
        // Some files change in their digits alone, and so stay readable more often.
        let digits_only = random.below(3) == 0;
        for _ in 0..=random.below(6) {
            let (from, other) = (random.below(bytes.len()), random.below(bytes.len()));
            let (from, to) = (from.min(other), from.max(other));
            match if digits_only { 6 } else { random.below(7) } {
                0 => bytes.truncate(to),
                1 => drop(bytes.drain(from..to)),
                2 => {
                    let again = bytes[from..to].to_vec();
                    let at = random.below(bytes.len());
                    bytes.splice(at..at, again);
                }
                3 => {
                    let piece = self.pieces[random.below(self.pieces.len())];
                    bytes.splice(from..from, piece.bytes());
                }
                4 if !bytes.is_empty() => bytes[from] = random.next().to_le_bytes()[0],
                // A string for a string keeps JSON well-formed.
                5 => change_string(&mut bytes, from, self.pieces[other % self.pieces.len()]),
                // A digit for a digit keeps times well-formed and makes them run anywhere.
                _ => {
                    if let Some(digit) = bytes[from..].iter_mut().find(|b| b.is_ascii_digit()) {
                        *digit = b'0' + random.next().to_le_bytes()[0] % 10;
                    }
                }
            }
            bytes.truncate(4_000);
        }
        bytes
    }
}

/// Puts a piece between the next two quotation marks, if it holds none itself.
fn change_string(bytes: &mut Vec<u8>, from: usize, piece: &str) {
    let quote = |from: usize| bytes[from..].iter().position(|b| *b == b'"').map(|at| from + at);
    let Some(start) = quote(from).map(|at| at + 1) else { return };
    let Some(end) = quote(start) else { return };
    let piece = piece.trim_matches('"');
    if !piece.contains('"') {
        bytes.splice(start..end, piece.bytes());
    }
}

//! The network: from the words of a talk to numbers for every half second, seen from each athlete.
//!
//! Words become rows (what is said, in which form, whom it may stand for); convolutions over the
//! words give each word its context; the rows are laid on the time axis; convolutions over time
//! learn how late people speak; a last layer gives the numbers. All of it is done twice, with
//! either athlete as "self", by the same parameters, so that nothing depends on who is named
//! first. It knows no grappling: what the numbers mean is the business of the caller.

use std::collections::HashMap;
use std::num::NonZeroUsize;

use ndarray::{Array2, ArrayView1, Axis, s};
use pulp::{Arch, Simd};

use super::layers::{Block, BlockSpace, LayerNorm, Linear, matrix};
use super::parameters_file::{ParametersError, ParametersFile, halves};
use crate::spare::Spare;

/// Length of a bin, in seconds.
pub const BIN_SECONDS: f64 = 0.5;
/// Letter groups are hashed into so many rows.
const BUCKETS: usize = 8192;
/// At most so many letter groups of a word count.
const MOST_GROUPS: usize = 12;
/// Kinds of reference: none, own name, other's name, own pronoun, other's pronoun, either.
const REFERS: usize = 6;
/// Which kind of reference each becomes when the other athlete is "self".
const OTHER_VIEW: [usize; REFERS] = [0, 2, 1, 4, 3, 5];
/// Forms of pronouns, kinds of timing, kinds of round.
const CASES: usize = 6;
const TIMINGS: usize = 3;
const KINDS: usize = 3;
/// Rows reserved for padding and for unknown tokens.
const RESERVED: usize = 2;

/// One word as numbers.
#[derive(Clone, Debug)]
pub struct WordRow<'a> {
    /// The token.
    pub token: &'a str,
    /// Whether the token's letters mean something; not those of stand-ins.
    pub lettered: bool,
    /// Lexicon term, by id.
    pub term: Option<&'a str>,
    /// Kind of reference with the first athlete as "self", below 6.
    pub refers: usize,
    /// Grammatical form, below 6.
    pub case: usize,
    /// When it begins, in seconds.
    pub start: f32,
    /// Silence before it, in seconds.
    pub gap: f32,
}

/// What the network says, with either athlete as "self": outputs by half second, and by word.
#[derive(Clone, Debug)]
pub struct Outputs {
    /// `bins × outputs` for each athlete.
    pub bins: [Array2<f32>; 2],
    /// `words × word outputs` for each athlete.
    pub words: [Array2<f32>; 2],
}

/// The network with its parameters.
pub struct Network {
    width: usize,
    outputs: usize,
    tokens: Vec<String>,
    terms: Vec<String>,
    // Kept as halves: a talk needs few of their rows.
    token_rows: Vec<u8>,
    letter_rows: Vec<u8>,
    term_rows: Array2<f32>,
    refers: Array2<f32>,
    case: Array2<f32>,
    timing: Array2<f32>,
    round_kind: Array2<f32>,
    gap: Linear,
    words: Vec<Block>,
    bins: Vec<Block>,
    to_bin: Linear,
    half: Linear,
    norm: LayerNorm,
    out: Linear,
    word_out: Linear,
    spare: Spare<BlockSpace>,
}

impl Network {
    /// Opens the network of a parameters file, whose last layers give `outputs` numbers for each
    /// bin and `word_outputs` for each word.
    ///
    /// # Errors
    /// [`ParametersError`]: not parameters, another version, or shapes that do not fit.
    pub(crate) fn open(
        file: &ParametersFile<'_>,
        outputs: usize,
        word_outputs: usize,
    ) -> Result<Self, ParametersError> {
        let header = &file.header;
        let width = header.width.get();
        let table = |name: &str, rows: usize| matrix(file, name, [rows, width]);
        let linear = |name: &str, from, to, bias| Linear::open(file, name, [from, to], bias);
        let blocks = |stage: &str, dilations: &[NonZeroUsize]| {
            (dilations.iter().enumerate())
                .map(|(i, dilation)| {
                    Block::open(file, &format!("{stage}.{i}"), width, dilation.get())
                })
                .collect::<Result<Vec<_>, _>>()
        };
        Ok(Network {
            width,
            outputs,
            token_rows: file.bytes("token", &[header.tokens.len() + RESERVED, width])?.to_vec(),
            letter_rows: file.bytes("letters", &[BUCKETS, width])?.to_vec(),
            term_rows: table("term", header.terms.len() + 1)?,
            refers: table("refers", REFERS)?,
            case: table("case", CASES)?,
            timing: table("timing", TIMINGS)?,
            round_kind: table("round_kind", KINDS)?,
            gap: linear("gap", 2, width, true)?,
            words: blocks("words", &header.word_dilations)?,
            bins: blocks("bins", &header.bin_dilations)?,
            to_bin: linear("to_bin", width, width, true)?,
            half: linear("half", width, width, false)?,
            norm: LayerNorm::open(file, "norm", width)?,
            out: linear("out", width, 2 * outputs, true)?,
            word_out: linear("word_out", width, word_outputs, true)?,
            tokens: header.tokens.clone(),
            terms: header.terms.clone(),
            spare: Spare::default(),
        })
    }

    /// Runs the network over a talk, laid on `bins` half seconds. `timing` and `kind` are below 3.
    ///
    /// Words outside the bins count in the first or last one. Linear in words plus bins.
    #[must_use]
    pub fn run(&self, words: &[WordRow<'_>], timing: usize, kind: usize, bins: usize) -> Outputs {
        let count = words.len();
        let said = self.word_rows(words, timing);
        let mut rows = Array2::<f32>::zeros((2 * count, self.width));
        for (index, word) in words.iter().enumerate() {
            for (view, refers) in [word.refers, OTHER_VIEW[word.refers]].into_iter().enumerate() {
                let mut row = rows.row_mut(view * count + index);
                row.assign(&said.row(index));
                row += &self.refers.row(refers);
            }
        }
        self.spare.lend(|space| {
            self.words.iter().for_each(|block| block.apply(&mut rows, count, space));
        });

        // Pairs of bins share a row; which half a word falls into is told apart by a sign.
        let pairs = bins.div_ceil(2);
        let mut sums = Array2::<f32>::zeros((2 * pairs, self.width));
        let mut differences = Array2::<f32>::zeros((2 * pairs, self.width));
        let mut counts = vec![0.0f32; pairs];
        for (index, word) in words.iter().enumerate() {
            // `as` saturates below at zero.
            let bin = ((f64::from(word.start) / BIN_SECONDS) as usize).min(bins.saturating_sub(1));
            let sign = if bin % 2 == 1 { 1.0 } else { -1.0 };
            counts[bin / 2] += 1.0;
            for view in 0..2 {
                let row = rows.row(view * count + index);
                sums.row_mut(view * pairs + bin / 2).scaled_add(1.0, &row);
                differences.row_mut(view * pairs + bin / 2).scaled_add(sign, &row);
            }
        }
        let mut laid = self.to_bin.apply_sums(sums.view(), &counts);
        laid += &self.half.apply(differences.view());
        laid += &self.round_kind.row(kind);
        self.spare.lend(|space| {
            self.bins.iter().for_each(|block| block.apply(&mut laid, pairs, space));
        });
        self.norm.apply(&mut laid);
        let of_bins = |view: usize| {
            let pairs_of = self.out.apply(laid.slice(s![view * pairs..(view + 1) * pairs, ..]));
            let flat = pairs_of.into_raw_vec_and_offset().0;
            let mut bins_of = Array2::from_shape_vec((2 * pairs, self.outputs), flat)
                .unwrap_or_else(|_| Array2::zeros((2 * pairs, self.outputs)));
            if bins % 2 == 1 {
                bins_of.remove_index(Axis(0), bins);
            }
            bins_of
        };
        let of_words =
            |view: usize| self.word_out.apply(rows.slice(s![view * count..(view + 1) * count, ..]));
        Outputs { bins: [of_bins(0), of_bins(1)], words: [of_words(0), of_words(1)] }
    }

    /// What is said, one row a word, whoever is "self".
    fn word_rows(&self, words: &[WordRow<'_>], timing: usize) -> Array2<f32> {
        let mut gaps = Array2::<f32>::zeros((words.len(), 2));
        for (word, mut row) in words.iter().zip(gaps.axis_iter_mut(Axis(0))) {
            row[0] = word.gap;
            row[1] = word.gap.ln_1p();
        }
        let mut rows = self.gap.apply(gaps.view());
        rows += &self.timing.row(timing);
        // Few words make up most of a talk.
        let mut known: HashMap<(&str, bool), Vec<f32>> = HashMap::new();
        for (word, mut row) in words.iter().zip(rows.axis_iter_mut(Axis(0))) {
            let spelt = known.entry((word.token, word.lettered));
            let spelt = spelt.or_insert_with_key(|(token, lettered)| self.spelt(token, *lettered));
            row += &ArrayView1::from(&*spelt);
            row += &self.case.row(word.case);
            let known = word.term.and_then(|term| {
                self.terms.binary_search_by(|known| known.as_str().cmp(term)).ok()
            });
            if let Some(term) = known {
                row += &self.term_rows.row(term + 1);
            }
        }
        rows
    }

    /// The row of a token, and of its letters if they mean something.
    fn spelt(&self, token: &str, lettered: bool) -> Vec<f32> {
        let place = self.tokens.binary_search_by(|known| known.as_str().cmp(token));
        let place = place.map_or(1, |place| place + RESERVED);
        let groups = if lettered { letter_groups(token) } else { Vec::new() };
        let scale = (groups.len().max(1) as f32).sqrt().recip();
        let length = 2 * self.width;
        let mut row: Vec<f32> = halves(&self.token_rows[length * place..][..length]).collect();
        for group in groups {
            add_letters(&self.letter_rows[length * group..][..length], scale, &mut row);
        }
        row
    }
}

/// Adds a row of halves times a scale; compiled for several generations of processors.
#[pulp::with_simd(add_letters = Arch::new())]
#[inline(always)]
fn add_letters_on<S: Simd>(_simd: S, letters: &[u8], scale: f32, row: &mut [f32]) {
    for (x, letter) in row.iter_mut().zip(halves(letters)) {
        *x += scale * letter;
    }
}

/// The groups of three and four letters of a word between marks, as hashes below [`BUCKETS`]:
/// sorted, each once, at most twelve. Words that are spelt alike share groups.
fn letter_groups(token: &str) -> Vec<usize> {
    let marked: Vec<char> = format!("<{token}>").chars().collect();
    let mut groups: Vec<usize> = [3, 4]
        .into_iter()
        .flat_map(|length| marked.windows(length))
        .map(|letters| fnv(&letters.iter().collect::<String>()) as usize % BUCKETS)
        .collect();
    groups.sort_unstable();
    groups.dedup();
    groups.truncate(MOST_GROUPS);
    groups
}

/// The 32-bit FNV-1a hash (Fowler, Noll, Vo).
fn fnv(text: &str) -> u32 {
    text.bytes().fold(0x811c_9dc5, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Test vectors of the FNV reference page (isthe.com/chongo/tech/comp/fnv), from memory.
    #[test]
    fn hashes_are_those_of_the_reference() {
        assert_eq!(fnv(""), 0x811c_9dc5);
        assert_eq!(fnv("a"), 0xe40c_292c);
        assert_eq!(fnv("foobar"), 0xbf9c_f968);
    }

    #[test]
    fn words_spelt_alike_share_letter_groups() {
        let shared = |a, b| {
            let other = letter_groups(b);
            letter_groups(a).iter().filter(|group| other.contains(group)).count()
        };
        assert!(shared("kimura", "kimuras") > shared("kimura", "camera"));
        assert!(letter_groups("a").len() == 1);
    }
}

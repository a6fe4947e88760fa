//! The layers of the network: arithmetic on rows of numbers, one row for each word or bin.

use ndarray::{Array2, ArrayView1, ArrayView2, ArrayViewMut2, Axis};
use pulp::{Arch, Simd};

use super::multiply::{Mode, multiply, windows, write_product};
use super::parameters_file::{ParametersError, ParametersFile};

/// Added to variances, as in the training.
const EPSILON: f32 = 1e-5;

/// Brings every row to mean 0 and variance 1, then scales and shifts it.
pub(super) struct LayerNorm {
    weight: Vec<f32>,
    bias: Vec<f32>,
}

impl LayerNorm {
    pub(super) fn open(
        file: &ParametersFile<'_>,
        name: &str,
        width: usize,
    ) -> Result<Self, ParametersError> {
        let numbers = |part: &str| file.numbers(&format!("{name}.{part}"), &[width]);
        Ok(LayerNorm { weight: numbers("weight")?, bias: numbers("bias")? })
    }

    pub(super) fn apply(&self, rows: &mut Array2<f32>) {
        if let Some(rows) = rows.as_slice_mut() {
            norm(self, rows);
        }
    }

    #[inline(always)]
    fn apply_to(&self, row: &mut [f32]) {
        let width = row.len() as f32;
        let mean = sum(row, |x| x) / width;
        let variance = sum(row, |x| (x - mean) * (x - mean)) / width;
        let scale = (variance + EPSILON).sqrt().recip();
        for ((x, weight), bias) in row.iter_mut().zip(&self.weight).zip(&self.bias) {
            *x = (*x - mean) * scale * weight + bias;
        }
    }
}

// `name_on` is a loop over rows, compiled for several generations of processors; `name` runs it
// as fits the processor.

#[pulp::with_simd(norm = Arch::new())]
#[inline(always)]
fn norm_on<S: Simd>(_simd: S, layer: &LayerNorm, rows: &mut [f32]) {
    for row in rows.chunks_exact_mut(layer.weight.len()) {
        layer.apply_to(row);
    }
}

/// Sums what `of` makes of the numbers of a row, several at a time.
#[inline(always)]
fn sum(row: &[f32], of: impl Fn(f32) -> f32) -> f32 {
    const LANES: usize = 16;
    let chunks = row.chunks_exact(LANES);
    let mut lanes = [0.0; LANES];
    for (lane, x) in lanes.iter_mut().zip(chunks.remainder()) {
        *lane = of(*x);
    }
    for chunk in chunks {
        for (lane, x) in lanes.iter_mut().zip(chunk) {
            *lane += of(*x);
        }
    }
    for width in [8, 4, 2, 1] {
        for lane in 0..width {
            lanes[lane] += lanes[lane + width];
        }
    }
    lanes[0]
}

/// Multiplies every row by a matrix and adds a bias.
pub(super) struct Linear {
    weight: Array2<f32>,
    bias: Option<Vec<f32>>,
}

impl Linear {
    pub(super) fn open(
        file: &ParametersFile<'_>,
        name: &str,
        shape: [usize; 2],
        with_bias: bool,
    ) -> Result<Self, ParametersError> {
        let weight = matrix(file, &format!("{name}.weight"), shape)?;
        let bias = with_bias.then(|| file.numbers(&format!("{name}.bias"), &shape[1..]));
        Ok(Linear { weight, bias: bias.transpose()? })
    }

    pub(super) fn apply(&self, rows: ArrayView2<'_, f32>) -> Array2<f32> {
        let mut result = multiply(rows, self.weight.view());
        if let Some(bias) = &self.bias {
            result += &ArrayView1::from(bias);
        }
        result
    }
}

impl Linear {
    /// Applies the layer to sums of rows: the bias counts once for each row summed. `counts` gives
    /// how many rows make each sum, and is used again from the start when it ends.
    pub(super) fn apply_sums(&self, sums: ArrayView2<'_, f32>, counts: &[f32]) -> Array2<f32> {
        let mut result = multiply(sums, self.weight.view());
        if let Some(bias) = &self.bias {
            for (mut row, count) in result.axis_iter_mut(Axis(0)).zip(counts.iter().cycle()) {
                row.scaled_add(*count, &ArrayView1::from(bias));
            }
        }
        result
    }
}

/// A block that looks at neighbouring rows: norm, convolution, rectifier, linear, and the input
/// added again.
pub(super) struct Block {
    norm: LayerNorm,
    /// The taps of the convolution one below the other.
    taps: Array2<f32>,
    bias: Vec<f32>,
    linear: Linear,
    dilation: usize,
}

/// How many rows a convolution looks at.
const TAPS: usize = 5;

impl Block {
    pub(super) fn open(
        file: &ParametersFile<'_>,
        name: &str,
        width: usize,
        dilation: usize,
    ) -> Result<Self, ParametersError> {
        let taps = file.numbers(&format!("{name}.convolution.weight"), &[TAPS, width, width])?;
        let bias = file.numbers(&format!("{name}.convolution.bias"), &[width])?;
        Ok(Block {
            norm: LayerNorm::open(file, &format!("{name}.norm"), width)?,
            taps: shaped(taps, [TAPS * width, width], name)?,
            bias,
            linear: Linear::open(file, &format!("{name}.linear"), [width, width], true)?,
            dilation,
        })
    }

    /// Applies the block to several sequences of `length` rows each, one below the other. Before
    /// and after a sequence there are zeros.
    pub(super) fn apply(&self, rows: &mut Array2<f32>, length: usize, space: &mut BlockSpace) {
        let (total, width) = rows.dim();
        if total == 0 {
            return;
        }
        let BlockSpace { places, spread, hidden } = space;
        // Farther than the sequence is long there are zeros anyway.
        spread_out(rows.dim(), length, self.dilation.min(length), places, spread);
        if let Some(rows) = rows.as_slice_mut() {
            norm_and_spread(self, rows, places, spread);
        }
        // A row and its neighbours lie side by side now: the convolution is one product.
        let windows = windows(spread, width, TAPS);
        hidden.resize(windows.nrows() * width, 0.0);
        let product = ArrayViewMut2::from_shape((windows.nrows(), width), hidden);
        let product = product.expect("room was made for it");
        write_product(windows, self.taps.view(), product, Mode::Replace);
        let active = &mut spread[..total * width];
        gather_and_rectify(&self.bias, hidden, places, active);
        let active = ArrayView2::from_shape((total, width), active);
        let active = active.expect("so many numbers were taken");
        write_product(active, self.linear.weight.view(), rows.view_mut(), Mode::Add);
    }
}

/// Memory that the blocks of a network share.
#[derive(Default)]
pub(super) struct BlockSpace {
    places: Vec<usize>,
    spread: Vec<f32>,
    hidden: Vec<f32>,
}

/// Finds places for the rows of several sequences such that those a dilation apart are
/// neighbours: each sequence from its first row on, from its second, and so on up to the dilation.
/// Makes room for them in `spread`, with rows of zeros before and after each run.
fn spread_out(
    (total, width): (usize, usize),
    length: usize,
    dilation: usize,
    places: &mut Vec<usize>,
    spread: &mut Vec<f32>,
) {
    const BETWEEN: usize = TAPS / 2;
    spread.resize((total + (total / length * dilation + 1) * BETWEEN) * width, 0.0);
    places.resize(total, 0);
    let mut place = 0;
    for sequence in places.chunks_exact_mut(length) {
        for phase in 0..dilation {
            spread[place * width..][..BETWEEN * width].fill(0.0);
            place += BETWEEN;
            for row in sequence[phase..].iter_mut().step_by(dilation) {
                *row = place;
                place += 1;
            }
        }
    }
    spread[place * width..][..BETWEEN * width].fill(0.0);
}

/// Writes every row, normed, to its place in `spread`, and adds to the row itself the bias of the
/// block's last layer.
#[pulp::with_simd(norm_and_spread = Arch::new())]
#[inline(always)]
fn norm_and_spread_on<S: Simd>(
    _simd: S,
    block: &Block,
    rows: &mut [f32],
    places: &[usize],
    spread: &mut [f32],
) {
    let width = block.bias.len();
    let linear_bias = block.linear.bias.as_deref().unwrap_or_default();
    for (row, place) in rows.chunks_exact_mut(width).zip(places) {
        let normed = &mut spread[place * width..][..width];
        normed.copy_from_slice(row);
        block.norm.apply_to(normed);
        for (x, bias) in row.iter_mut().zip(linear_bias) {
            *x += bias;
        }
    }
}

/// Takes every row from its place among the rows of the convolution, adds the bias and sets what is
/// negative to zero.
#[pulp::with_simd(gather_and_rectify = Arch::new())]
#[inline(always)]
fn gather_and_rectify_on<S: Simd>(
    _simd: S,
    bias: &[f32],
    hidden: &[f32],
    places: &[usize],
    active: &mut [f32],
) {
    let width = bias.len();
    for (row, place) in active.chunks_exact_mut(width).zip(places) {
        let hidden = &hidden[(place - TAPS / 2) * width..][..width];
        for ((to, x), bias) in row.iter_mut().zip(hidden).zip(bias) {
            *to = (x + bias).max(0.0);
        }
    }
}

/// A tensor of two sides as a matrix.
pub(super) fn matrix(
    file: &ParametersFile<'_>,
    name: &str,
    shape: [usize; 2],
) -> Result<Array2<f32>, ParametersError> {
    shaped(file.numbers(name, &shape)?, shape, name)
}

fn shaped(
    numbers: Vec<f32>,
    shape: [usize; 2],
    name: &str,
) -> Result<Array2<f32>, ParametersError> {
    Array2::from_shape_vec(shape, numbers)
        .map_err(|_| ParametersError::Tensor { name: name.to_owned(), shape: shape.to_vec() })
}

//! The layers of the network: arithmetic on rows of numbers, one row for each word or bin.

use ndarray::{Array1, Array2, ArrayView2, Axis, s};

use super::multiply::{add_product, multiply};
use super::parameters_file::{ParametersError, ParametersFile};

/// Added to variances, as in the training.
const EPSILON: f32 = 1e-5;

/// Brings every row to mean 0 and variance 1, then scales and shifts it.
pub(super) struct LayerNorm {
    weight: Array1<f32>,
    bias: Array1<f32>,
}

impl LayerNorm {
    pub(super) fn open(
        file: &ParametersFile<'_>,
        name: &str,
        width: usize,
    ) -> Result<Self, ParametersError> {
        let numbers = |part: &str| file.numbers(&format!("{name}.{part}"), &[width]);
        Ok(LayerNorm { weight: numbers("weight")?.into(), bias: numbers("bias")?.into() })
    }

    pub(super) fn apply(&self, rows: &mut Array2<f32>) {
        let width = rows.ncols() as f32;
        for mut row in rows.axis_iter_mut(Axis(0)) {
            let mean = row.sum() / width;
            let variance = row.iter().map(|x| (x - mean) * (x - mean)).sum::<f32>() / width;
            let scale = (variance + EPSILON).sqrt().recip();
            for ((x, weight), bias) in row.iter_mut().zip(&self.weight).zip(&self.bias) {
                *x = (*x - mean) * scale * weight + bias;
            }
        }
    }
}

/// Multiplies every row by a matrix and adds a bias.
pub(super) struct Linear {
    weight: Array2<f32>,
    bias: Option<Array1<f32>>,
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
        Ok(Linear { weight, bias: bias.transpose()?.map(Array1::from) })
    }

    pub(super) fn apply(&self, rows: ArrayView2<'_, f32>) -> Array2<f32> {
        let mut result = multiply(rows, self.weight.view());
        if let Some(bias) = &self.bias {
            result += bias;
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
                row.scaled_add(*count, bias);
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
    bias: Array1<f32>,
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
            bias: bias.into(),
            linear: Linear::open(file, &format!("{name}.linear"), [width, width], true)?,
            dilation,
        })
    }

    /// Applies the block to several sequences of `length` rows each, one below the other. Before
    /// and after a sequence there are zeros.
    pub(super) fn apply(&self, rows: &mut Array2<f32>, length: usize) {
        let mut normed = rows.clone();
        self.norm.apply(&mut normed);
        let (total, width) = normed.dim();
        let mut hidden = Array2::<f32>::zeros((total, width));
        for mut row in hidden.axis_iter_mut(Axis(0)) {
            row.assign(&self.bias);
        }
        for first in (0..total).step_by(length.max(1)) {
            for tap in 0..TAPS {
                let shift = (tap as isize - (TAPS / 2) as isize) * self.dilation as isize;
                let (to, from) =
                    if shift < 0 { (shift.unsigned_abs(), 0) } else { (0, shift.unsigned_abs()) };
                let kept = length.saturating_sub(shift.unsigned_abs());
                if kept > 0 {
                    let source = normed.slice(s![first + from..first + from + kept, ..]);
                    let weight = self.taps.slice(s![tap * width..(tap + 1) * width, ..]);
                    let sum = hidden.slice_mut(s![first + to..first + to + kept, ..]);
                    add_product(source, weight, sum);
                }
            }
        }
        hidden.mapv_inplace(|x| x.max(0.0));
        *rows += &self.linear.apply(hidden.view());
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

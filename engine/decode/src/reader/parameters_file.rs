//! The file form of the network's parameters: a line that names it, the length of a header, the
//! header as JSON, and the numbers as half-precision floats, little endian.

use std::num::NonZeroUsize;

use serde::Deserialize;

/// What a file of parameters begins with.
pub const MAGIC: &[u8] = b"grapevine reader\n";
/// The version of the file form that this program reads.
pub const VERSION: u32 = 1;

/// Why parameters could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ParametersError {
    /// Something else than parameters.
    #[error("this is not a file of reader parameters")]
    Other,
    /// The file ends early.
    #[error("the file of reader parameters is cut off")]
    Short,
    /// Another version.
    #[error("the reader parameters have version {0}, this program reads version {VERSION}")]
    Version(u32),
    /// The header cannot be read.
    #[error("the header of the reader parameters: {0}")]
    Header(#[from] serde_json::Error),
    /// A tensor is missing or of another shape than the network needs.
    #[error("the reader parameters have no {name} of shape {shape:?}")]
    Tensor {
        /// Its name.
        name: String,
        /// The shape needed.
        shape: Vec<usize>,
    },
    /// A number is not finite.
    #[error("the reader parameters hold a number in {0} that is not finite")]
    NotFinite(String),
    /// Tokens or terms are not sorted.
    #[error("the vocabulary of the reader parameters is not sorted")]
    Unsorted,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Header {
    version: u32,
    pub(super) width: NonZeroUsize,
    pub(super) tokens: Vec<String>,
    pub(super) terms: Vec<String>,
    pub(super) word_dilations: Vec<NonZeroUsize>,
    pub(super) bin_dilations: Vec<NonZeroUsize>,
    tensors: Vec<TensorPlace>,
}

#[derive(Debug, Deserialize)]
struct TensorPlace {
    name: String,
    shape: Vec<usize>,
    offset: usize,
}

/// An opened file: the header, and the numbers still as bytes.
pub(crate) struct ParametersFile<'a> {
    pub(crate) header: Header,
    numbers: &'a [u8],
}

impl<'a> ParametersFile<'a> {
    pub(crate) fn open(bytes: &'a [u8]) -> Result<Self, ParametersError> {
        let rest = bytes.strip_prefix(MAGIC).ok_or(ParametersError::Other)?;
        let (length, rest) = rest.split_first_chunk::<4>().ok_or(ParametersError::Short)?;
        let length = u32::from_le_bytes(*length) as usize;
        let (header, numbers) = rest.split_at_checked(length).ok_or(ParametersError::Short)?;
        let header: Header = serde_json::from_slice(header)?;
        if header.version != VERSION {
            return Err(ParametersError::Version(header.version));
        }
        if !header.tokens.is_sorted() || !header.terms.is_sorted() {
            return Err(ParametersError::Unsorted);
        }
        Ok(ParametersFile { header, numbers })
    }

    /// The bytes of a tensor, two for each number, row by row.
    pub(crate) fn bytes(&self, name: &str, shape: &[usize]) -> Result<&'a [u8], ParametersError> {
        let missing = || ParametersError::Tensor { name: name.to_owned(), shape: shape.to_vec() };
        let place = self.header.tensors.iter().find(|place| place.name == name);
        let place = place.filter(|place| place.shape == shape).ok_or_else(missing)?;
        let length = shape.iter().try_fold(2usize, |product, side| product.checked_mul(*side));
        let start = place.offset.checked_mul(2).ok_or_else(missing)?;
        let end = length.and_then(|length| start.checked_add(length)).ok_or_else(missing)?;
        self.numbers.get(start..end).ok_or(ParametersError::Short)
    }

    /// The numbers of a tensor, row by row.
    pub(crate) fn numbers(&self, name: &str, shape: &[usize]) -> Result<Vec<f32>, ParametersError> {
        let numbers: Vec<f32> = halves(self.bytes(name, shape)?).collect();
        if numbers.iter().all(|number| number.is_finite()) {
            Ok(numbers)
        } else {
            Err(ParametersError::NotFinite(name.to_owned()))
        }
    }
}

/// Half-precision floats, little endian, as floats.
#[inline(always)]
pub(super) fn halves(bytes: &[u8]) -> impl Iterator<Item = f32> {
    bytes.chunks_exact(2).map(|pair| float(u16::from_le_bytes([pair[0], pair[1]])))
}

/// The value of a half-precision float (IEEE 754 binary16). Selects instead of branches, so that a
/// loop over it runs in wide registers.
#[inline(always)]
fn float(half: u16) -> f32 {
    let sign = u32::from(half & 0x8000) << 16;
    let magnitude = u32::from(half & 0x7fff);
    let fraction = magnitude & 0x3ff;
    // Subnormal: the value is fraction × 2⁻²⁴.
    let subnormal = (fraction as f32 * (1.0 / 16_777_216.0)).to_bits();
    let normal = (magnitude << 13) + (112 << 23);
    let bits = if magnitude < 0x400 { subnormal } else { normal };
    let bits = if magnitude >= 0x7c00 { 0x7f80_0000 | fraction << 13 } else { bits };
    f32::from_bits(sign | bits)
}

#[cfg(test)]
mod tests {
    use super::*;

    // IEEE 754-2008 binary16: published examples of its range and precision, from memory.
    #[test]
    fn halves_have_their_standard_values() {
        for (half, value) in [
            (0x3c00u16, 1.0f32),
            (0xc000, -2.0),
            (0x7bff, 65504.0),
            (0x0400, 6.103_515_6e-5),
            (0x0001, 5.960_464_5e-8),
            (0x3555, 0.333_251_95),
            (0x0000, 0.0),
        ] {
            assert_eq!(float(half), value, "{half:#x}");
        }
        assert_eq!(float(0x7c00), f32::INFINITY);
        assert!(float(0x7e00).is_nan());
    }

    #[test]
    fn other_files_are_refused() {
        assert!(matches!(ParametersFile::open(b"WEBVTT"), Err(ParametersError::Other)));
        let mut bytes = MAGIC.to_vec();
        assert!(matches!(ParametersFile::open(&bytes), Err(ParametersError::Short)));
        bytes.extend(900u32.to_le_bytes());
        assert!(matches!(ParametersFile::open(&bytes), Err(ParametersError::Short)));
    }
}

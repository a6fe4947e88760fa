//! The one matrix product that the network spends its time in.

use ndarray::{Array2, ArrayView2, ArrayViewMut2, ShapeBuilder};

/// The product of two matrices, `n × k` by `k × m`.
///
/// Panics if their inner sides differ: shapes are checked when parameters are opened.
pub(super) fn multiply(left: ArrayView2<'_, f32>, right: ArrayView2<'_, f32>) -> Array2<f32> {
    let mut product = Array2::<f32>::zeros((left.nrows(), right.ncols()));
    write_product(left, right, product.view_mut(), Mode::Replace);
    product
}

/// What a product does to the numbers in its place.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mode {
    /// It takes their place.
    Replace,
    /// It is added to them.
    Add,
}

/// Writes the product of two matrices, `n × k` by `k × m`, into a third.
///
/// Panics if the sides do not fit: shapes are checked when parameters are opened.
#[expect(unsafe_code, reason = "the kernels take pointers; the sides are checked just above")]
pub(super) fn write_product(
    left: ArrayView2<'_, f32>,
    right: ArrayView2<'_, f32>,
    mut to: ArrayViewMut2<'_, f32>,
    mode: Mode,
) {
    let ((rows, inner), (other, columns)) = (left.dim(), right.dim());
    assert_eq!(inner, other, "the sides of the factors fit");
    assert_eq!(to.dim(), (rows, columns), "the sides of the product fit");
    let steps = |strides: &[isize]| (strides[1], strides[0]);
    let ((to_cs, to_rs), (left_cs, left_rs), (right_cs, right_rs)) =
        (steps(to.strides()), steps(left.strides()), steps(right.strides()));
    // SAFETY: pointers, sides and strides are those of live views of these very shapes, so every
    // element that the kernel touches belongs to them; `to` is borrowed mutably and alone.
    unsafe {
        gemm::gemm(
            rows,
            columns,
            inner,
            to.as_mut_ptr(),
            to_cs,
            to_rs,
            mode == Mode::Add,
            left.as_ptr(),
            left_cs,
            left_rs,
            right.as_ptr(),
            right_cs,
            right_rs,
            1.0,
            1.0,
            false,
            false,
            false,
            gemm::Parallelism::None,
        );
    }
}

/// Every `length` neighbouring rows as one long row, `n - length + 1` of them, without a copy.
/// `rows` holds rows of `width` numbers, at least `length` of them.
pub(super) fn windows(rows: &[f32], width: usize, length: usize) -> ArrayView2<'_, f32> {
    let count = rows.len() / width + 1 - length;
    ArrayView2::from_shape((count, length * width).strides((width, 1)), rows)
        .expect("the last window ends with the last row")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn products_are_those_of_the_definition(
            (rows, inner, columns) in (0usize..20, 0usize..20, 0usize..20),
            seed in 0u32..1000,
        ) {
            let value = |i: usize, j: usize| ((i * 31 + j * 17 + seed as usize) % 13) as f32 - 6.0;
            let left = Array2::from_shape_fn((rows, inner), |(i, j)| value(i, j));
            let right = Array2::from_shape_fn((inner, columns), |(i, j)| value(j, i + 3));
            let product = multiply(left.view(), right.view());
            for ((i, j), found) in product.indexed_iter() {
                let sum: f32 = (0..inner).map(|k| left[(i, k)] * right[(k, j)]).sum();
                prop_assert_eq!(*found, sum);
            }
            // A transposed view has another layout.
            let turned = multiply(right.t(), left.t());
            for ((i, j), found) in turned.indexed_iter() {
                prop_assert_eq!(*found, product[(j, i)]);
            }
            let mut twice = product.clone();
            write_product(left.view(), right.view(), twice.view_mut(), Mode::Add);
            prop_assert_eq!(twice, product * 2.0);
        }

        #[test]
        fn windows_are_neighbouring_rows(
            (length, width, more) in (1usize..6, 1usize..5, 0usize..9),
        ) {
            let count = length + more;
            let rows: Vec<f32> = (0..count * width).map(|number| number as f32).collect();
            let windows = windows(&rows, width, length);
            prop_assert_eq!(windows.dim(), (more + 1, length * width));
            for (first, window) in windows.rows().into_iter().enumerate() {
                let expected = &rows[first * width..(first + length) * width];
                prop_assert_eq!(window.to_vec(), expected);
            }
        }
    }
}

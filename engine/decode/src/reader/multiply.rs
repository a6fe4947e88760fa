//! The one matrix product that the network spends its time in.

use ndarray::{Array2, ArrayView2, ArrayViewMut2};

/// The product of two matrices, `n × k` by `k × m`.
///
/// Panics if their inner sides differ: shapes are checked when parameters are opened.
pub(super) fn multiply(left: ArrayView2<'_, f32>, right: ArrayView2<'_, f32>) -> Array2<f32> {
    let mut product = Array2::<f32>::zeros((left.nrows(), right.ncols()));
    add_product(left, right, product.view_mut());
    product
}

/// Adds the product of two matrices, `n × k` by `k × m`, to a third.
///
/// Panics if the sides do not fit: shapes are checked when parameters are opened.
#[expect(unsafe_code, reason = "the kernels take pointers; the sides are checked just above")]
pub(super) fn add_product(
    left: ArrayView2<'_, f32>,
    right: ArrayView2<'_, f32>,
    mut sum: ArrayViewMut2<'_, f32>,
) {
    let ((rows, inner), (other, columns)) = (left.dim(), right.dim());
    assert_eq!(inner, other, "the sides of the factors fit");
    assert_eq!(sum.dim(), (rows, columns), "the sides of the sum fit");
    let steps = |strides: &[isize]| (strides[1], strides[0]);
    let ((sum_cs, sum_rs), (left_cs, left_rs), (right_cs, right_rs)) =
        (steps(sum.strides()), steps(left.strides()), steps(right.strides()));
    // SAFETY: pointers, sides and strides are those of live views of these very shapes, so every
    // element that the kernel touches belongs to them; `sum` is borrowed mutably and alone.
    unsafe {
        gemm::gemm(
            rows,
            columns,
            inner,
            sum.as_mut_ptr(),
            sum_cs,
            sum_rs,
            true,
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
        }
    }
}

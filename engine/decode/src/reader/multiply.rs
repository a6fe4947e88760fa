//! The one matrix product that the network spends its time in.

use ndarray::{Array2, ArrayView2};

/// The product of two matrices, `n × k` by `k × m`, both kept row by row without gaps.
///
/// Panics if their inner sides differ: shapes are checked when parameters are opened.
#[expect(unsafe_code, reason = "the kernels take pointers; their bounds are checked just above")]
pub(super) fn multiply(left: ArrayView2<'_, f32>, right: &Array2<f32>) -> Array2<f32> {
    let left = left.as_standard_layout();
    let right = right.as_standard_layout();
    let ((rows, inner), (other, columns)) = (left.dim(), right.dim());
    assert_eq!(inner, other, "the sides of the matrices fit");
    let mut product = Array2::<f32>::zeros((rows, columns));
    // In standard layout a row's neighbours lie `columns` (or `inner`) apart, a column's 1 apart.
    let strides = |columns: usize| (1isize, columns as isize);
    let ((dst_cs, dst_rs), (lhs_cs, lhs_rs), (rhs_cs, rhs_rs)) =
        (strides(columns), strides(inner), strides(columns));
    // SAFETY: all three matrices are in standard layout with the sides given here, so every
    // element that the kernel touches lies inside its own allocation; `product` is not shared.
    unsafe {
        gemm::gemm(
            rows,
            columns,
            inner,
            product.as_mut_ptr(),
            dst_cs,
            dst_rs,
            false,
            left.as_ptr(),
            lhs_cs,
            lhs_rs,
            right.as_ptr(),
            rhs_cs,
            rhs_rs,
            0.0,
            1.0,
            false,
            false,
            false,
            gemm::Parallelism::None,
        );
    }
    product
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
            let product = multiply(left.view(), &right);
            for ((i, j), found) in product.indexed_iter() {
                let sum: f32 = (0..inner).map(|k| left[(i, k)] * right[(k, j)]).sum();
                prop_assert_eq!(*found, sum);
            }
            // A transposed view has another layout.
            let turned = multiply(right.t(), &left.t().to_owned());
            for ((i, j), found) in turned.indexed_iter() {
                prop_assert_eq!(*found, product[(j, i)]);
            }
        }
    }
}

//! A link as a QR code that a phone's camera reads.

use qrcode::{Color, QrCode};

use crate::error::PageError;

/// Light modules around the code, as its standard (ISO/IEC 18004) asks for.
const MARGIN: usize = 4;

/// An inline SVG of a link. Dark on white also where the page is dark: many readers need that.
pub(super) fn picture(link: &str) -> Result<String, PageError> {
    let code = QrCode::new(link).map_err(|error| PageError::Fault(error.to_string()))?;
    let width = code.width();
    let mut dark = String::new();
    for (index, color) in code.to_colors().into_iter().enumerate() {
        if color == Color::Dark {
            let (x, y) = (index % width + MARGIN, index / width + MARGIN);
            dark.push_str(&format!("M{x} {y}h1v1h-1z"));
        }
    }
    let size = width + 2 * MARGIN;
    Ok(format!(
        "<svg role=\"img\" aria-label=\"QR code of the link below\" width=\"264\" height=\"264\" \
         viewBox=\"0 0 {size} {size}\" shape-rendering=\"crispEdges\">\
         <rect width=\"{size}\" height=\"{size}\" fill=\"#fff\"/><path d=\"{dark}\" fill=\"#000\"/></svg>"
    ))
}

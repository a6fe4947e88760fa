//! The look of a student's report: a letter on a sheet of paper, two pages at most when printed.

/// The colours are those of every page ([`crate::page_style`]); the words are set like a letter's.
pub(super) const STYLE: &str = "
:root { --ground: #fbf8f1; --sheet: #fffdf8; --ink: #2b2925; --quiet: #66615a; --rule: #ddd5c6;
  --first: #1f5f8b; --second: #a4501b }
@media screen and (prefers-color-scheme: dark) {
  :root { --ground: #1d1b18; --sheet: #252320; --ink: #ece6da; --quiet: #aaa295; --rule: #413d36;
    --first: #8bbfe4; --second: #eda470 }
}
* { box-sizing: border-box }
body { margin: 0; background: var(--ground); color: var(--ink);
  font: 1.0625rem/1.5 Charter, 'Bitstream Charter', Georgia, 'Liberation Serif', serif }
header, main, footer { max-width: 54rem; margin: 0 auto; padding: 0 1.25rem }
header { padding-top: 2.25rem }
h1, h2 { font-weight: 600; line-height: 1.2; margin: 0 }
h1 { font-size: 2.4rem; letter-spacing: -0.01em }
h2 { font-size: 1.3rem; margin-bottom: 0.5rem }
h3 { font-size: 1rem; font-weight: 600; margin: 0 0 0.2rem }
p { margin: 0 0 0.6rem }
.above { color: var(--quiet); margin-bottom: 0.2rem }
.under { color: var(--quiet); font-style: italic; margin-bottom: 1.5rem }
.quiet { color: var(--quiet) }
section { margin: 0 0 2.2rem; min-width: 0 }
.message { border-left: 3px solid var(--first); background: var(--sheet);
  padding: 1rem 1.25rem 0.5rem; border-radius: 0 4px 4px 0; font-size: 1.125rem }
.message h2 { font-size: 1rem; color: var(--quiet); font-weight: 400; font-style: italic }
.columns { display: grid; grid-template-columns: 1fr 1fr; gap: 0 2.5rem; align-items: start }
ul, ol { margin: 0; padding: 0; list-style: none }
li { padding: 0.55rem 0; border-top: 1px solid var(--rule) }
li:first-child { border-top: 0; padding-top: 0.1rem }
.where { display: block; color: var(--quiet); font-size: 0.9375rem; margin-top: 0.15rem }
details { margin-top: 0.15rem; font-size: 0.875rem; color: var(--quiet) }
summary { cursor: pointer; width: max-content; padding: 0.15rem 0; list-style-position: inside }
summary:focus-visible { outline: 3px solid var(--first); outline-offset: 2px; border-radius: 2px }
details p { margin: 0.2rem 0 0.1rem;
  font: 0.8125rem/1.45 system-ui, 'Segoe UI', 'Liberation Sans', sans-serif }
svg { display: block; width: 100%; height: auto }
.map-wide { margin: 0.25rem 0 0.5rem }
.map-narrow { display: none; margin: 0.25rem -0.75rem 0.5rem }
figure { margin: 0 0 1rem; min-width: 0 }
figcaption { margin-top: 0.3rem }
footer { border-top: 1px solid var(--rule); padding-top: 1rem; padding-bottom: 2.5rem;
  color: var(--quiet); font-size: 0.9375rem }
@media (max-width: 45rem) {
  .columns { grid-template-columns: 1fr }
  .map-wide { display: none }
  .map-narrow { display: block }
  header { padding-top: 1.5rem }
  h1 { font-size: 2rem }
}
@page { size: A4; margin: 13mm 15mm }
@media print {
  :root { --ground: #fff; --sheet: #fff; --ink: #2b2925; --quiet: #56524c; --rule: #ddd5c6;
    --first: #1f5f8b; --second: #a4501b }
  body { font-size: 10pt; line-height: 1.38 }
  header, main, footer { max-width: none; padding-left: 0; padding-right: 0 }
  header { padding-top: 0 }
  h1 { font-size: 22pt }
  h2 { font-size: 12.5pt; margin-bottom: 1.5mm; break-after: avoid }
  h3 { font-size: 10pt; margin-bottom: 0.5mm }
  p { margin-bottom: 1.5mm }
  .under { margin-bottom: 3.5mm }
  section { margin-bottom: 4.5mm }
  .message { font-size: 10.5pt; padding: 1.5mm 4mm 0.5mm }
  .columns { grid-template-columns: 1fr 1fr; gap: 0 8mm }
  li { padding: 1.2mm 0; break-inside: avoid }
  .where { font-size: 9pt }
  details { display: none }
  figure, .map { break-inside: avoid }
  figure { margin-bottom: 2mm }
  .map-wide { display: block; margin: 0 }
  .map-wide svg { width: 92%; margin: 0 auto }
  .map-narrow { display: none }
  .curves { width: 94% }
  .full .map-wide svg { width: 68% }
  .full .curves { width: 66% }
  .long .curves { display: none }
  .brief .moments, .brief .where { display: none }
  .tight { font-size: 9pt; line-height: 1.34 }
  .tight .message { font-size: 9.4pt }
  .tight .map-wide svg { width: 55% }
  footer { font-size: 8.5pt; padding: 2mm 0 0 }
}
";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page_style;

    #[test]
    fn colours_are_those_of_every_page() {
        for name in ["ground", "sheet", "ink", "quiet", "rule", "first", "second"] {
            for declared in page_style::STYLE.split(&format!("--{name}: ")).skip(1).take(2) {
                let colour = format!("--{name}: {}", &declared[..7]);
                assert!(STYLE.contains(&colour), "{colour}");
            }
        }
    }
}

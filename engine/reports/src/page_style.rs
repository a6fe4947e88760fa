//! The look of a page. The pictures bring their own colours, see `svg`.

/// Quiet, like a sheet of paper; every text has a contrast of 4.5 to 1 or more.
pub(crate) const STYLE: &str = "
:root { --ground: #fbf8f1; --sheet: #fffdf8; --ink: #2b2925; --quiet: #66615a; --rule: #ddd5c6;
  --first: #1f5f8b; --second: #a4501b; --focus: #1f5f8b; --target: #f3e7c4 }
@media screen and (prefers-color-scheme: dark) {
  :root { --ground: #1d1b18; --sheet: #252320; --ink: #ece6da; --quiet: #aaa295; --rule: #413d36;
    --first: #8bbfe4; --second: #eda470; --focus: #8bbfe4; --target: #372f1a }
}
* { box-sizing: border-box }
html { scroll-behavior: smooth }
body { margin: 0; background: var(--ground); color: var(--ink);
  font: 1rem/1.5 system-ui, 'Segoe UI', 'Liberation Sans', sans-serif }
header, main, footer { max-width: 62rem; margin: 0 auto; padding: 0 1rem }
header { padding-top: 1.5rem }
h1, h2 { font-family: Charter, 'Bitstream Charter', Georgia, 'Liberation Serif', serif;
  line-height: 1.2; margin: 0 }
h1 { font-size: 1.75rem }
h2 { font-size: 1.25rem }
p { margin: 0.25rem 0 0.75rem }
.soft { color: var(--quiet); font-size: 0.9rem }
.remark { border-left: 4px solid var(--second); background: var(--sheet); margin: 0.75rem 0;
  padding: 0.5rem 0.75rem }
a { color: inherit }
:focus-visible { outline: 3px solid var(--focus); outline-offset: 2px; border-radius: 2px }
.picture { margin: 0.5rem 0 1.5rem }
.tide { display: block; width: 100%; height: auto }
.tide a { text-decoration: none }
.narrow { display: none }
section { min-width: 0 }
ol { list-style: none; margin: 0; padding: 0 }
li { display: flex; gap: 0.5rem; padding: 0.3rem 0; border-top: 1px solid var(--rule) }
li.within { color: var(--quiet); border-top-style: dotted }
.time { flex: none; min-width: 3.2rem; color: var(--quiet); font-variant-numeric: tabular-nums;
  text-align: right }
.sign { flex: none; width: 1rem; text-align: center }
.first { color: var(--first) }
.second { color: var(--second) }
.told { flex: 1 1 auto; overflow-wrap: anywhere }
.sure { flex: none; color: var(--quiet); font-variant-numeric: tabular-nums }
.columns { display: grid; grid-template-columns: 1fr 1fr; gap: 2rem; align-items: start }
.lines { position: relative; max-height: 80vh; overflow-y: auto; background: var(--sheet);
  border: 1px solid var(--rule); border-radius: 4px; padding: 0.5rem 1rem;
  font-family: Charter, 'Bitstream Charter', Georgia, 'Liberation Serif', serif }
.talk { position: sticky; top: 1rem }
.lines p { position: relative; margin: 0.4rem -0.5rem; padding: 0.1rem 0.5rem; border-radius: 3px;
  overflow-wrap: anywhere; scroll-margin: 5rem }
.lines p:target { background: var(--target) }
.lines .time { font-size: 0.85rem; font-family: system-ui, 'Segoe UI', 'Liberation Sans', sans-serif }
.term { text-decoration: underline; text-decoration-thickness: 2px; text-underline-offset: 3px }
.term.otherwise { text-decoration-style: dotted; text-decoration-thickness: 1px }
.put-right::after { content: '\\00b0'; color: var(--quiet) }
.note { position: absolute; left: 3rem; top: 100%; width: max-content; max-width: 80%;
  padding: 0.1rem 0.5rem; background: var(--ink); color: var(--ground); border-radius: 3px;
  font: 0.85rem/1.4 system-ui, 'Segoe UI', 'Liberation Sans', sans-serif; opacity: 0;
  pointer-events: none; z-index: 1 }
.term:hover > .note, .term:focus > .note, .put-right:hover > .note, .put-right:focus > .note {
  opacity: 1 }
.questions { margin-top: 2rem }
footer { margin-top: 2rem; padding-bottom: 2rem; border-top: 1px solid var(--rule) }
@media (max-width: 45rem) {
  .wide { display: none }
  .narrow { display: block }
  .columns { grid-template-columns: 1fr }
  .talk { position: static; margin-top: 1.5rem }
  .picture { margin: 0 -0.6rem 1rem }
  .time { min-width: 2.6rem }
}
@media (prefers-reduced-motion: reduce) { html { scroll-behavior: auto } }
@media print {
  :root { --ground: #fff; --sheet: #fff }
  body { font-size: 10pt }
  .wide { display: block }
  .narrow, .note, .key { display: none }
  .lines { max-height: none; overflow: visible; border: 0; padding: 0 }
  .columns { display: block }
  .talk { position: static; margin-top: 1.5rem }
  li { break-inside: avoid }
}
";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::svg;

    /// Contrast of two colours, as WCAG 2.2 defines it ("contrast ratio", "relative luminance").
    fn contrast(one: &str, other: &str) -> f64 {
        let luminance = |colour: &str| -> f64 {
            let channel = |at: usize| {
                let share = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
                if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
        };
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    /// The value of a custom property, first in the light and then in the dark look.
    fn values(name: &str) -> Vec<&'static str> {
        STYLE.split(&format!("--{name}: ")).skip(1).map(|rest| &rest[..7]).collect()
    }

    #[test]
    fn contrast_of_the_extremes_is_as_published() {
        // WCAG 2.2: black on white is 21:1.
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    }

    #[test]
    fn every_text_can_be_read_on_every_ground() {
        for look in [0, 1] {
            for ground in ["ground", "sheet", "target"] {
                for ink in ["ink", "quiet", "first", "second"] {
                    let (ink, ground) = (values(ink)[look], values(ground)[look]);
                    assert!(contrast(ink, ground) >= 4.5, "{ink} on {ground}");
                }
            }
        }
    }

    #[test]
    fn pictures_use_the_page_s_colours() {
        let pictures = svg::style_sheet();
        for name in ["ground", "ink", "quiet", "first", "second"] {
            for value in values(name).iter().take(2) {
                assert!(pictures.contains(value), "{name} {value}");
            }
        }
    }
}

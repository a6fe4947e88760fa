//! Rolling captions: each cue shows the previous line again above the new one. The talk is what
//! was said, so a repeated line is read once.

use super::draft::DraftCue;

/// Two cues this close belong together, in milliseconds.
const CLOSE: u64 = 500;
/// A cue this short only holds the previous line on the screen, in milliseconds.
const HOLD: u64 = 50;
/// Lines shown at once by rolling captions: two or three, four at the most.
const LINES_SHOWN: usize = 4;

/// Takes away the words at the start of each cue that only repeat the lines at the end of the cue
/// before it, when the file is one of rolling captions. Cues must be sorted by start.
///
/// A file rolls if at least half of its neighbouring cues show it plainly: the second begins with
/// the first's last line and goes on below it (or goes on by more words after at least three
/// repeated ones), or repeats it all for no more than 50 ms. So "nice" said twice in two ordinary
/// captions stays said twice. Linear in the number of words.
pub(super) fn read_once(cues: &mut [DraftCue]) {
    let pairs: Vec<Repeat> = cues.windows(2).map(|pair| Repeat::of(&pair[0], &pair[1])).collect();
    let plain = pairs.iter().filter(|repeat| repeat.plain).count();
    if plain == 0 || plain * 2 < pairs.len() {
        return;
    }
    for (cue, repeat) in cues.iter_mut().skip(1).zip(pairs) {
        if repeat.plain || repeat.close {
            cue.drop_first(repeat.words);
        }
    }
}

struct Repeat {
    /// How many words at the start of the second cue end the first.
    words: usize,
    /// Whether this can only be rolling.
    plain: bool,
    /// Whether the second cue follows at once.
    close: bool,
}

impl Repeat {
    fn of(first: &DraftCue, second: &DraftCue) -> Repeat {
        let words = shared(first, second);
        let close = second.span.start() <= first.span.end().later(CLOSE);
        let goes_on = words < second.words.len();
        let plain = words > 0
            && if goes_on {
                words >= 3 || second.lines.contains(&words)
            } else {
                close && second.span.millis() <= HOLD
            };
        Repeat { words, plain, close }
    }
}

/// The most words that are whole lines at the end of `first` and begin `second`.
fn shared(first: &DraftCue, second: &DraftCue) -> usize {
    let oldest = first.lines.len().saturating_sub(LINES_SHOWN);
    first.lines[oldest..]
        .iter()
        .map(|start| &first.words[*start..])
        .find(|tail| {
            tail.len() <= second.words.len()
                && tail.iter().zip(&second.words).all(|(a, b)| a.text == b.text)
        })
        .map_or(0, <[_]>::len)
}

//! How words are written: what is compared when two spellings are held against each other, and
//! the inflections of English words.

/// One piece of a heard word, as compared with the lexicon.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Token {
    /// The place of the word it came from.
    pub(crate) word: usize,
    /// Lower-case letters and digits without accents; never empty.
    pub(crate) text: String,
    /// Whether the word went on with `'s`.
    pub(crate) possessive: bool,
}

impl Token {
    /// The letters as spoken: with the `s` of a possessive.
    pub(crate) fn spoken(&self) -> String {
        let mut spoken = self.text.clone();
        if self.possessive {
            spoken.push('s');
        }
        spoken
    }
}

/// The plain letter for an accented Latin one, as far as Portuguese, Japanese romanisation and
/// names need it.
fn without_accent(letter: char) -> char {
    match letter {
        'á' | 'à' | 'â' | 'ã' | 'ä' | 'å' | 'ā' => 'a',
        'é' | 'è' | 'ê' | 'ë' | 'ē' => 'e',
        'í' | 'ì' | 'î' | 'ï' | 'ī' => 'i',
        'ó' | 'ò' | 'ô' | 'õ' | 'ö' | 'ø' | 'ō' => 'o',
        'ú' | 'ù' | 'û' | 'ü' | 'ū' => 'u',
        'ç' | 'ć' | 'č' => 'c',
        'ñ' => 'n',
        'š' => 's',
        'ž' => 'z',
        'ý' => 'y',
        other => other,
    }
}

/// Calls `take` with each piece of a written word: lower case, accents and apostrophes removed,
/// split where hyphens, slashes or other signs stand; `true` when the piece ended in `'s`.
pub(crate) fn pieces(word: &str, mut take: impl FnMut(String, bool)) {
    let mut piece = String::new();
    let mut apostrophe = None;
    let mut finish = |piece: &mut String, apostrophe: &mut Option<usize>| {
        let possessive = apostrophe.is_some_and(|at| at > 0 && &piece[at..] == "s");
        if possessive {
            piece.pop();
        }
        *apostrophe = None;
        if !piece.is_empty() {
            take(std::mem::take(piece), possessive);
        }
    };
    for letter in word.chars().flat_map(char::to_lowercase) {
        if letter.is_alphanumeric() {
            piece.push(without_accent(letter));
        } else if matches!(letter, '\'' | '\u{2019}' | '\u{2bc}') {
            apostrophe = Some(piece.len());
        } else if !is_mark(letter) {
            finish(&mut piece, &mut apostrophe);
        }
    }
    finish(&mut piece, &mut apostrophe);
}

/// A word as it is compared with another: lower case, accents removed, all other signs as they are.
#[must_use]
pub fn plain_letters(word: &str) -> String {
    let letters = word.chars().flat_map(char::to_lowercase).filter(|letter| !is_mark(*letter));
    letters.map(without_accent).collect()
}

/// Combining marks: an accent written after its letter is dropped, not a place to split.
fn is_mark(letter: char) -> bool {
    ('\u{300}'..='\u{36f}').contains(&letter)
}

/// The pieces of every word, each knowing where it came from.
pub(crate) fn tokens(words: &[&str]) -> Vec<Token> {
    let mut tokens = Vec::with_capacity(words.len());
    for (word, written) in words.iter().enumerate() {
        pieces(written, |text, possessive| tokens.push(Token { word, text, possessive }));
    }
    tokens
}

/// The pieces of a spoken form as one list of words.
pub(crate) fn words_of(form: &str) -> Vec<String> {
    let mut words = Vec::new();
    pieces(form, |text, _| words.push(text));
    words
}

/// Past forms that no rule gives, of verbs the trade uses: base, then the others.
const IRREGULAR: [&[&str]; 34] = [
    &["take", "took", "taken"],
    &["sweep", "swept"],
    &["get", "got", "gotten", "getting"],
    &["put", "putting"],
    &["give", "gave", "given"],
    &["throw", "threw", "thrown"],
    &["hold", "held"],
    &["catch", "caught"],
    &["sit", "sat", "sitting"],
    &["stand", "stood"],
    &["go", "went", "gone"],
    &["come", "came"],
    &["run", "ran", "running"],
    &["break", "broke", "broken"],
    &["let", "letting"],
    &["keep", "kept"],
    &["lie", "lay", "lain", "lying"],
    &["bring", "brought"],
    &["swing", "swung"],
    &["fall", "fell", "fallen"],
    &["drive", "drove", "driven"],
    &["shoot", "shot"],
    &["spin", "spun", "spinning"],
    &["win", "won", "winning"],
    &["lose", "lost"],
    &["choose", "chose", "chosen"],
    &["ride", "rode", "ridden"],
    &["slide", "slid"],
    &["cut", "cutting"],
    &["hit", "hitting"],
    &["begin", "began", "begun", "beginning"],
    &["rise", "rose", "risen"],
    &["control", "controls", "controlled", "controlling"],
    &["half", "halves"],
];

/// Other surfaces of an English word: plural or third person, past, present participle.
///
/// Every rule is applied whether or not the word is a verb; a surface that does not exist in
/// English does no harm, since nobody will say it.
pub(crate) fn inflections(word: &str) -> Vec<String> {
    let mut surfaces: Vec<String> = Vec::new();
    let letters: Vec<char> = word.chars().collect();
    if letters.len() < 3 || !letters.iter().all(char::is_ascii_lowercase) {
        return surfaces;
    }
    let vowel = |c: char| matches!(c, 'a' | 'e' | 'i' | 'o' | 'u');
    let (last, before) = (letters[letters.len() - 1], letters[letters.len() - 2]);
    let stem = &word[..word.len() - 1];
    let irregular = IRREGULAR.iter().find(|forms| forms[0] == word);
    surfaces.extend(irregular.into_iter().flat_map(|forms| &forms[1..]).map(|s| (*s).to_owned()));
    match last {
        's' | 'x' | 'z' => surfaces.push(format!("{word}es")),
        'h' if matches!(before, 'c' | 's') => surfaces.push(format!("{word}es")),
        'y' if !vowel(before) => surfaces.push(format!("{stem}ies")),
        _ => surfaces.push(format!("{word}s")),
    }
    match last {
        'e' => surfaces.extend([format!("{word}d"), format!("{stem}ing")]),
        'y' if !vowel(before) => surfaces.extend([format!("{stem}ied"), format!("{word}ing")]),
        _ => {
            let third = letters.len().checked_sub(3).map(|at| letters[at]);
            let short = vowel(before) && third.is_some_and(|c| !vowel(c)) && letters.len() <= 4;
            if short && !vowel(last) && !matches!(last, 'w' | 'x' | 'y') {
                surfaces.extend([format!("{word}{last}ed"), format!("{word}{last}ing")]);
            }
            surfaces.extend([format!("{word}ed"), format!("{word}ing")]);
        }
    }
    surfaces
}

#[cfg(test)]
mod tests {
    use super::*;

    fn split(word: &str) -> Vec<(String, bool)> {
        let mut found = Vec::new();
        pieces(word, |text, possessive| found.push((text, possessive)));
        found
    }

    #[test]
    fn spellings_are_compared_without_case_accents_and_signs() {
        assert_eq!(split("North-South,"), [("north".into(), false), ("south".into(), false)]);
        assert_eq!(split("D\u{2019}Arce"), [("darce".into(), false)]);
        assert_eq!(split("Petra's"), [("petra".into(), true)]);
        assert_eq!(split("LEÃO"), [("leao".into(), false)]);
        assert_eq!(split("lea\u{303}o"), [("leao".into(), false)]);
        assert_eq!(split("50/50"), [("50".into(), false), ("50".into(), false)]);
        assert_eq!(split("--"), []);
        assert_eq!(split("'s"), [("s".into(), false)]);
    }

    #[test]
    fn inflections_cover_the_verbs_of_the_trade() {
        for (word, surface) in [
            ("pass", "passes"),
            ("pass", "passed"),
            ("pass", "passing"),
            ("sweep", "swept"),
            ("tap", "tapped"),
            ("mount", "mounted"),
            ("take", "took"),
            ("take", "taking"),
            ("escape", "escaped"),
            ("carry", "carried"),
            ("control", "controlled"),
            ("finish", "finishes"),
            ("triangle", "triangles"),
        ] {
            assert!(inflections(word).iter().any(|s| s == surface), "{word} {surface}");
        }
        assert!(inflections("em").is_empty());
    }
}

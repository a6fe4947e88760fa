//! Reading the lexicon's CSV, with every rule checked.

use academy::Position;

use super::{Language, Lexicon, Place, Role, Term, TermIndex, TermKind};
use crate::phoneme::Phoneme;
use crate::phonemes;
use crate::spelling;

/// The columns, in order.
const COLUMNS: [&str; 11] = [
    "id",
    "kind",
    "name",
    "english",
    "portuguese",
    "japanese",
    "sounds",
    "parent",
    "from",
    "to",
    "note",
];

/// A lexicon that cannot be used, with the line of the file where it breaks.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line} of the lexicon: {fault}")]
pub struct LexiconError {
    /// The line on which the row starts, from 1.
    pub line: u64,
    /// What is wrong with it.
    pub fault: LexiconFault,
}

/// What can be wrong with a row or with an added form.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LexiconFault {
    /// The first row is not the expected header.
    #[error("the first row must be {}", COLUMNS.join(","))]
    Header,
    /// The text is not CSV.
    #[error("not readable as CSV: {0}")]
    Unreadable(String),
    /// A row has the wrong number of cells.
    #[error("{0} cells instead of {expected}", expected = COLUMNS.len())]
    Cells(usize),
    /// The id is empty or not in snake_case.
    #[error("the id `{0}` must be lower-case letters, digits and underscores")]
    BadId(String),
    /// Two rows have the same id.
    #[error("the id `{0}` occurs twice")]
    RepeatedId(String),
    /// The kind is none of the known ones.
    #[error(
        "`{0}` is not a kind; a kind is one of position, guard_variant, technique, submission, event, grip, concept"
    )]
    UnknownKind(String),
    /// A form has no letters.
    #[error("a spoken form of `{0}` has no letters")]
    EmptyForm(String),
    /// The same spoken form belongs to two terms.
    #[error("the spoken form `{0}` already belongs to `{1}`")]
    SharedForm(String, String),
    /// The parent is no position.
    #[error("the parent `{0}` is not a position")]
    UnknownParent(String),
    /// A place is not `any`, `tap`, or a position with or without a role.
    #[error("`{0}` is not a place: write any, tap, a position, or position:top, :bottom or :-")]
    UnknownPlace(String),
    /// A pronunciation is not `word=ARPAbet symbols`.
    #[error("`{0}` is not a pronunciation: write word=ARPAbet symbols separated by spaces")]
    BadSounds(String),
    /// A pronunciation is given for a word that is in none of the row's forms.
    #[error("sounds are given for `{0}`, which is in none of the forms of this row")]
    SoundsOfOtherWord(String),
    /// There is no term with this id.
    #[error("there is no term `{0}`")]
    NoSuchTerm(String),
    /// More words than the program can number.
    #[error("more than 65,535 different words")]
    TooMany,
}

/// The parts of a cell that holds a list.
fn list(cell: &str) -> impl Iterator<Item = &str> {
    cell.split(';').map(str::trim).filter(|part| !part.is_empty())
}

fn place(text: &str) -> Result<Place, LexiconFault> {
    let unknown = || LexiconFault::UnknownPlace(text.to_owned());
    let (position, role) = match text.split_once(':') {
        None => (text, None),
        Some((position, "top")) => (position, Some(Role::Top)),
        Some((position, "bottom")) => (position, Some(Role::Bottom)),
        Some((position, "-")) => (position, Some(Role::Nobody)),
        Some(_) => return Err(unknown()),
    };
    match (position, role) {
        ("any", None) => Ok(Place::Any),
        ("tap", None) => Ok(Place::Tap),
        _ => Position::from_id(position).map(|at| Place::At(at, role)).ok_or_else(unknown),
    }
}

fn term(cells: &[&str; COLUMNS.len()]) -> Result<Term, LexiconFault> {
    let [id, kind, name, _, _, _, _, parent, from, to, note] = *cells;
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    if id.is_empty() || !id.chars().all(plain) {
        return Err(LexiconFault::BadId(id.to_owned()));
    }
    let kind = TermKind::ALL
        .into_iter()
        .find(|known| known.id() == kind)
        .ok_or_else(|| LexiconFault::UnknownKind(kind.to_owned()))?;
    let position = match parent {
        "" if kind == TermKind::Position => Position::from_id(id),
        "" => None,
        _ => Some(
            Position::from_id(parent)
                .ok_or_else(|| LexiconFault::UnknownParent(parent.to_owned()))?,
        ),
    };
    Ok(Term {
        id: id.to_owned(),
        kind,
        name: name.to_owned(),
        position,
        from: list(from).map(place).collect::<Result<_, _>>()?,
        to: list(to).map(place).collect::<Result<_, _>>()?,
        note: note.to_owned(),
    })
}

impl Lexicon {
    /// Adds one row: its term, its forms, its pronunciations.
    fn add_row(&mut self, cells: &[&str; COLUMNS.len()]) -> Result<(), LexiconFault> {
        let term = term(cells)?;
        if self.find(&term.id).is_some() {
            return Err(LexiconFault::RepeatedId(term.id));
        }
        let index = TermIndex(self.terms.len());
        self.ids.insert(term.id.clone(), index);
        self.terms.push(term);
        let first_form = self.forms.len();
        self.add_form(index, cells[2], Language::English)?;
        let columns = [Language::English, Language::Portuguese, Language::Japanese];
        for (language, cell) in columns.into_iter().zip(&cells[3..6]) {
            for form in list(cell) {
                self.add_form(index, form, language)?;
            }
        }
        for given in list(cells[6]) {
            let bad = || LexiconFault::BadSounds(given.to_owned());
            let (word, symbols) = given.split_once('=').ok_or_else(bad)?;
            let mut phonemes = Phoneme::parse_all(symbols).ok_or_else(bad)?;
            phonemes::split_rhotic(&mut phonemes);
            let word = spelling::words_of(word).concat();
            let in_row = |form: &super::Form| form.words.iter().any(|id| self.word(*id) == word);
            if !self.forms[first_form..].iter().any(in_row) {
                return Err(LexiconFault::SoundsOfOtherWord(word));
            }
            self.sounds.entry(word).or_default().push(phonemes);
        }
        Ok(())
    }
}

/// See [`Lexicon::parse`].
pub(super) fn parse(csv: &str) -> Result<Lexicon, LexiconError> {
    let csv = csv.strip_prefix('\u{feff}').unwrap_or(csv);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(csv.as_bytes());
    let mut lexicon = Lexicon::empty();
    let mut row = csv::StringRecord::new();
    let mut header_seen = false;
    loop {
        let line = reader.position().line();
        let more = reader.read_record(&mut row).map_err(|error| LexiconError {
            line,
            fault: LexiconFault::Unreadable(error.to_string()),
        })?;
        // Blank lines are skipped by the reader; the record knows where it started.
        let line = row.position().map_or(line, csv::Position::line);
        let at_line = |fault| LexiconError { line, fault };
        if !more {
            break;
        }
        if !header_seen {
            if row.iter().ne(COLUMNS) {
                return Err(at_line(LexiconFault::Header));
            }
            header_seen = true;
            continue;
        }
        let cells: Vec<&str> = row.iter().collect();
        let cells: &[&str; COLUMNS.len()] =
            cells.as_slice().try_into().map_err(|_| at_line(LexiconFault::Cells(row.len())))?;
        lexicon.add_row(cells).map_err(at_line)?;
    }
    if !header_seen {
        return Err(LexiconError { line: 1, fault: LexiconFault::Header });
    }
    lexicon.make_ready();
    Ok(lexicon)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "id,kind,name,english,portuguese,japanese,sounds,parent,from,to,note\n";

    fn lexicon(rows: &str) -> Result<Lexicon, LexiconError> {
        Lexicon::parse(&format!("{HEADER}{rows}"))
    }

    #[test]
    fn broken_rows_are_refused_with_their_line() {
        let row = |text: &str| lexicon(text).err().map(|error| (error.line, error.fault));
        assert_eq!(
            row("a,position,A,,,,,,any,any,\nb,postion,B,,,,,,any,any,\n"),
            Some((3, LexiconFault::UnknownKind("postion".into())))
        );
        assert_eq!(
            row("a,concept,A,,,,,,any,any,\na,concept,B,,,,,,any,any,\n"),
            Some((3, LexiconFault::RepeatedId("a".into())))
        );
        assert_eq!(
            row("a,concept,one two,,,,,,any,any,\nb,concept,B,one-two,,,,,any,any,\n"),
            Some((3, LexiconFault::SharedForm("one-two".into(), "a".into())))
        );
        assert_eq!(
            row("a,concept,A,,,,,,mounts:top,any,\n"),
            Some((2, LexiconFault::UnknownPlace("mounts:top".into())))
        );
        assert_eq!(
            row("a,concept,kimura,,,,kimura=K IQ,,any,any,\n"),
            Some((2, LexiconFault::BadSounds("kimura=K IQ".into())))
        );
        assert_eq!(
            row("a,concept,kimura,,,,kimuro=K IH,,any,any,\n"),
            Some((2, LexiconFault::SoundsOfOtherWord("kimuro".into())))
        );
        assert_eq!(
            row("a,guard_variant,A,,,,,shelf,any,any,\n"),
            Some((2, LexiconFault::UnknownParent("shelf".into())))
        );
        assert!(matches!(row("a,concept,A\n"), Some((2, LexiconFault::Cells(3)))));
        assert!(matches!(Lexicon::parse("id,kind\n"), Err(e) if e.line == 1));
    }
}

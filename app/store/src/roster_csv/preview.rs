//! What a file of people would do to the roster, before it does.

use std::collections::HashMap;

use academy::Member;
use csv::StringRecord;

use super::{COLUMNS, cells, row};
use crate::people::{MemberId, name_key};

/// What a file would do.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Preview {
    /// People that are not in the book yet.
    pub new: Vec<Newcomer>,
    /// People about whom the file says something else than the book.
    pub changed: Vec<Changed>,
    /// People about whom it says nothing new.
    pub same: Vec<MemberId>,
    /// Everything that cannot be taken as it is, by line.
    pub problems: Vec<Problem>,
    /// The columns that were understood, in the order of the file.
    pub columns: Vec<&'static str>,
    /// Columns that mean nothing here and are left out, as the file names them.
    pub unknown_columns: Vec<String>,
}

/// Somebody new.
#[derive(Clone, Debug, PartialEq)]
pub struct Newcomer {
    /// The line of the file, from 1.
    pub line: u64,
    /// Who.
    pub member: Member,
}

/// Somebody who would change.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    /// The line of the file, from 1.
    pub line: u64,
    /// Who.
    pub id: MemberId,
    /// As the book has them.
    pub before: Member,
    /// As they would be.
    pub after: Member,
    /// What differs.
    pub differences: Vec<Difference>,
}

/// One thing that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The column.
    pub column: &'static str,
    /// As the book has it.
    pub from: String,
    /// As the file has it.
    pub to: String,
}

/// A row, or the header, that cannot be taken as it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The line of the file on which the row begins, from 1.
    pub line: u64,
    /// Whom the row is about, as far as it says so.
    pub name: String,
    /// What is wrong and what to do.
    pub what: String,
}

/// Looks at a file of people: values separated by commas, semicolons or tabs, with a header that
/// names the columns in any order; only `name` must be there. People are found by name, however
/// it is spaced and in capitals or not. An empty cell leaves what the book has. Nothing is changed.
#[must_use]
pub fn preview(text: &str, existing: &[(MemberId, Member)]) -> Preview {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut preview = Preview::default();
    let mut table = csv::ReaderBuilder::new()
        .delimiter(delimiter(text))
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut records = table.records();
    let Some(Ok(header)) = records.next() else {
        preview.problem(1, "", "the file is empty: its first line names the columns");
        return preview;
    };
    let Some(columns) = preview.columns(&header) else { return preview };
    let by_name: HashMap<String, &(MemberId, Member)> =
        existing.iter().map(|known| (name_key(&known.1.name), known)).collect();
    let mut seen: HashMap<String, u64> = HashMap::new();
    let mut lines = Lines { text, counted: 0, line: 1 };
    for record in records {
        match record {
            Ok(record) => {
                let line = lines.of(record.position());
                preview.read(line, &record, &columns, &by_name, &mut seen);
            }
            Err(error) => {
                let line = lines.of(error.position());
                preview.problem(line, "", &format!("the row cannot be read: {error}"));
            }
        }
    }
    preview
}

/// Counts lines, whichever way they end: the reader itself takes a row after CR LF to begin in the
/// line before.
struct Lines<'t> {
    text: &'t str,
    /// Bytes that were counted.
    counted: usize,
    /// The line that follows them, from 1.
    line: u64,
}

impl Lines<'_> {
    /// The line on which a row begins; rows are asked for in their order.
    fn of(&mut self, position: Option<&csv::Position>) -> u64 {
        let bytes = self.text.as_bytes();
        let start = position.map_or(self.counted, |position| {
            usize::try_from(position.byte()).unwrap_or(usize::MAX).min(bytes.len())
        });
        let ends = bytes[start..].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let counted = (start + ends).max(self.counted);
        let passed = bytes[self.counted..counted].iter().filter(|byte| **byte == b'\n').count();
        self.line += passed as u64;
        self.counted = counted;
        self.line
    }
}

/// What separates the cells of the header.
fn delimiter(text: &str) -> u8 {
    let header = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |mark: u8| header.bytes().filter(|byte| *byte == mark).count();
    // The first of the most frequent ones: a single column is separated by nothing.
    [b'\t', b';', b','].into_iter().max_by_key(|mark| count(*mark)).unwrap_or(b',')
}

impl Preview {
    fn problem(&mut self, line: u64, name: &str, what: &str) {
        self.problems.push(Problem { line, name: name.to_owned(), what: what.to_owned() });
    }

    /// What each column of the file is, in its order; `None` where the file is of no use.
    fn columns(&mut self, header: &StringRecord) -> Option<Vec<Option<&'static str>>> {
        let mut columns: Vec<Option<&'static str>> = Vec::new();
        for cell in header {
            let title = cells::as_meant(cell.trim()).to_lowercase().replace([' ', '-'], "_");
            let known = COLUMNS.into_iter().find(|column| *column == title);
            if known.is_some() && columns.contains(&known) {
                let what = format!("the column {title} is there twice: take one of them out");
                self.problem(1, "", &what);
                return None;
            }
            if known.is_none() && !title.is_empty() {
                self.unknown_columns.push(cell.trim().to_owned());
            }
            columns.push(known);
        }
        if !columns.contains(&Some("name")) {
            let what = "there is no column called name: name it in the first line";
            self.problem(1, "", what);
            return None;
        }
        self.columns = columns.iter().copied().flatten().collect();
        Some(columns)
    }

    fn read(
        &mut self,
        line: u64,
        record: &StringRecord,
        columns: &[Option<&'static str>],
        by_name: &HashMap<String, &(MemberId, Member)>,
        seen: &mut HashMap<String, u64>,
    ) {
        if record.iter().all(|cell| cell.trim().is_empty()) {
            return;
        }
        let before = self.problems.len();
        let cell = |wanted: &str| {
            let index = columns.iter().position(|column| *column == Some(wanted))?;
            let cell = cells::as_meant(record.get(index)?);
            (!cell.trim().is_empty()).then_some(cell)
        };
        let name =
            cell("name").unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ");
        if name.is_empty() {
            self.problem(line, "", "the row has no name: give one or take the row out");
        }
        if record.iter().skip(columns.len()).any(|cell| !cell.trim().is_empty()) {
            let what = "the row has more cells than the first line has columns: put texts that \
                        hold a comma or semicolon in double quotes";
            self.problem(line, &name, what);
        }
        let key = name_key(&name);
        if !name.is_empty()
            && let Some(first) = seen.insert(key.clone(), line)
        {
            let what = format!("{name} is in line {first} already: take one of the rows out");
            self.problem(line, &name, &what);
        }
        let kept = by_name.get(&key).copied();
        let mut member = match kept {
            Some((_, kept)) => kept.clone(),
            None => Member { name: name.clone(), ..Member::default() },
        };
        // In the order of `COLUMNS`: what a guardian said comes after who that is.
        for column in COLUMNS {
            if let Some(cell) = cell(column)
                && let Err(what) = cells::set(&mut member, column, cell)
            {
                self.problem(line, &name, &format!("{column}: {what}"));
            }
        }
        // What was not understood was not set: held against the rest it would be told twice.
        if !name.is_empty()
            && self.problems.len() == before
            && let Err(error) = member.check()
        {
            self.problem(line, &name, &format!("{error}: correct the row"));
        }
        if self.problems.len() > before {
            return;
        }
        match kept {
            None => self.new.push(Newcomer { line, member }),
            Some((id, kept)) if *kept == member => self.same.push(*id),
            Some((id, kept)) => self.changed.push(Changed {
                line,
                id: *id,
                differences: differences(kept, &member),
                before: kept.clone(),
                after: member,
            }),
        }
    }
}

fn differences(before: &Member, after: &Member) -> Vec<Difference> {
    let pairs = row(before).into_iter().zip(row(after));
    COLUMNS
        .into_iter()
        .zip(pairs)
        .filter(|(_, (from, to))| from != to)
        .map(|(column, (from, to))| Difference { column, from, to })
        .collect()
}

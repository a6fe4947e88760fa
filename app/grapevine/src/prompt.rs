//! Asking a person at the terminal: a question, its choices, and what each key does.

use std::io::BufRead;

use academy::{Answer, Athlete, Position, Round, Time};
use decode::{About, Question};

use crate::commands::error::CommandError;
use crate::terminal;

/// What a person replied to a question.
pub(crate) enum Reply {
    /// This answer: one of those offered, or one that they named.
    Answer(Answer),
    /// Nothing changed around here.
    Nothing,
    /// They do not know.
    Unknown,
    /// Take the last answer away.
    Back,
    /// Enough.
    Stop,
}

/// Shows a question with what was said around it, and reads replies until one is understood; the
/// end of the input stops.
pub(crate) fn ask(
    round: &Round,
    question: &Question,
    said: &[String],
    input: &mut impl BufRead,
) -> Result<Reply, CommandError> {
    let mut text = format!("\n{}  {}\n", question.time, review::question(round, question));
    for line in said {
        text.push_str(&format!("      \u{201c}{line}\u{201d}\n"));
    }
    for (index, (words, chance)) in review::choices(round, question).into_iter().enumerate() {
        let chance = reports::wording::percent(chance);
        text.push_str(&format!("  {}  {words} ({chance})\n", index + 1));
    }
    let asks_when = matches!(question.about, About::Spell { .. });
    text.push_str(&match asks_when {
        true => format!(
            "  or when, such as {}; - for a time you cannot tell\n  \
             e  they were elsewhere: name it    ?  I don't know\n",
            guessed(question)
        ),
        false => "  e  something else: name it    n  nothing changed around here    \
                  ?  I don't know\n"
            .to_owned(),
    });
    text.push_str("  b  back: take the last answer away    q  stop; your answers are kept\n");
    let keys = ['e', 'n', '?', 'b', 'q'];
    // In the middle of a spell nothing changes anyhow.
    let keys: Vec<char> = keys.into_iter().filter(|key| !asks_when || *key != 'n').collect();
    let times = |typed: &str| times(question, typed);
    loop {
        terminal::write(&text)?;
        return Ok(match read_key(question.choices.len(), &keys, &times, input)? {
            Key::Number(number) => Reply::Answer(question.choices[number].answer.clone()),
            Key::Times(answer) => Reply::Answer(answer),
            Key::Letter('e') => match name_it(round, question.time, input)? {
                Some(reply) => reply,
                None => continue,
            },
            Key::Letter('n') => Reply::Nothing,
            Key::Letter('?') => Reply::Unknown,
            Key::Letter('b') => Reply::Back,
            Key::Letter(_) => Reply::Stop,
        });
    }
}

/// The times that are guessed for the spell asked about, as a person would type them.
fn guessed(question: &Question) -> String {
    let times = question.choices.iter().find_map(|choice| match choice.answer {
        Answer::Spell { start, end, .. } => Some([start, end]),
        _ => None,
    });
    let typed: Vec<String> =
        times.into_iter().flatten().flatten().map(|time| time.to_string()).collect();
    typed.join(" ")
}

/// Lets a person name any position, and who was on top; none where they go back to the question.
fn name_it(
    round: &Round,
    time: Time,
    input: &mut impl BufRead,
) -> Result<Option<Reply>, CommandError> {
    const IN_A_ROW: usize = 3;
    let mut text = format!("\nWhere were they at {time}?\n");
    for (index, position) in Position::ALL.into_iter().enumerate() {
        text.push_str(&format!("  {:>2}  {:<18}", index + 1, words(position)));
        if (index + 1) % IN_A_ROW == 0 || index + 1 == Position::ALL.len() {
            text.truncate(text.trim_end().len());
            text.push('\n');
        }
    }
    text.push_str("   ?  I don't know the position    b  back to the question    q  stop\n");
    loop {
        terminal::write(&text)?;
        let position = match read_key(Position::ALL.len(), &['?', 'b', 'q'], &|_| None, input)? {
            Key::Number(number) => Some(Position::ALL[number]),
            Key::Letter('?') => None,
            Key::Letter('b') => return Ok(None),
            Key::Times(_) | Key::Letter(_) => return Ok(Some(Reply::Stop)),
        };
        if let Some(position) = position.filter(|position| !position.has_top()) {
            return Ok(Some(Reply::Answer(Answer::State { time, position, top: None })));
        }
        let who = position.map_or_else(|| "Who was on top?".to_owned(), review::who_was_on_top);
        let [first, second] = Athlete::BOTH.map(|athlete| round.name(athlete));
        terminal::write(&format!(
            "\n{who}\n  1  {first}    2  {second}    ?  I don't know    b  back to the positions    \
             q  stop\n"
        ))?;
        let top = match read_key(2, &['?', 'b', 'q'], &|_| None, input)? {
            Key::Number(number) => Some(Athlete::BOTH[number]),
            Key::Letter('?') => None,
            Key::Letter('b') => continue,
            Key::Times(_) | Key::Letter(_) => return Ok(Some(Reply::Stop)),
        };
        return Ok(Some(match (position, top) {
            (Some(position), top) => Reply::Answer(Answer::State { time, position, top }),
            (None, Some(top)) => Reply::Answer(Answer::Top { time, top }),
            (None, None) => Reply::Unknown,
        }));
    }
}

/// A position as a choice.
const fn words(position: Position) -> &'static str {
    match position {
        Position::Standing => "both standing",
        Position::Reset => "pause, not rolling",
        other => other.name(),
    }
}

enum Key {
    /// The index of a choice.
    Number(usize),
    /// One of the letters offered.
    Letter(char),
    /// The times asked for.
    Times(Answer),
}

/// The times that were asked for, as typed: `0:58 1:20`, or one where one was asked; `-` for one
/// that the person cannot tell. Nothing where they do not fit the question.
fn times(question: &Question, typed: &str) -> Option<Answer> {
    let About::Spell { position, top, start: asks_start, end: asks_end } = question.about else {
        return None;
    };
    let mut words = typed.split_whitespace();
    let mut next = |asked: bool| match asked.then(|| words.next()) {
        None | Some(Some("-")) => Some(None),
        Some(word) => Time::parse(word?).map(Some),
    };
    let (start, end, time) = (next(asks_start)?, next(asks_end)?, question.time);
    let told = start.is_some() || end.is_some();
    let in_order = start.is_none_or(|start| start <= time) && end.is_none_or(|end| time <= end);
    let all = words.next().is_none();
    (typed.contains(':') && told && in_order && all).then_some(Answer::Spell {
        time,
        position,
        top,
        start,
        end,
    })
}

/// Reads lines until one is the number of a choice, from 1, one of these letters, the last of which
/// stops, or the times that were asked for; the end of the input stops too.
fn read_key(
    choices: usize,
    letters: &[char],
    times: &dyn Fn(&str) -> Option<Answer>,
    input: &mut impl BufRead,
) -> Result<Key, CommandError> {
    loop {
        terminal::write("> ")?;
        let mut line = String::new();
        let failed = |source| CommandError::Read { name: "standard input".to_owned(), source };
        if input.read_line(&mut line).map_err(failed)? == 0 {
            terminal::write("\n")?;
            return Ok(Key::Letter('q'));
        }
        let typed = line.trim().to_lowercase();
        let mut chars = typed.chars();
        if let (Some(letter), None) = (chars.next(), chars.next())
            && letters.contains(&letter)
        {
            return Ok(Key::Letter(letter));
        }
        if let Some(answer) = times(&typed) {
            return Ok(Key::Times(answer));
        }
        let number = typed.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        if let Some(number) = number.filter(|number| *number < choices) {
            return Ok(Key::Number(number));
        }
        let letters: Vec<String> = letters.iter().map(char::to_string).collect();
        let (last, others) = letters.split_last().map_or(("", &letters[..]), |(l, o)| (l, o));
        let others = others.join(", ");
        let numbers = if choices == 1 { "1".to_owned() } else { format!("1 to {choices}") };
        terminal::write(&format!("Type {numbers}, {others} or {last}.\n"))?;
    }
}

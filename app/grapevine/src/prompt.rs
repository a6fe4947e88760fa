//! Asking a person at the terminal: a question, its choices, and what each key does.

use std::io::BufRead;

use academy::{Answer, Athlete, Position, Round, Time};
use decode::Question;

use crate::commands::error::CommandError;
use crate::{shown, terminal};

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
    let mut text = format!("\n{}  {}\n", question.time, shown::question(question));
    for line in said {
        text.push_str(&format!("      \u{201c}{line}\u{201d}\n"));
    }
    for (index, (words, chance)) in shown::choices(round, question).into_iter().enumerate() {
        let chance = reports::wording::percent(chance);
        text.push_str(&format!("  {}  {words} ({chance})\n", index + 1));
    }
    text.push_str(
        "  e  something else: name it    n  nothing changed around here    ?  I don't know\n  \
         b  back: take the last answer away    q  stop; your answers are kept\n",
    );
    let keys = ['e', 'n', '?', 'b', 'q'];
    loop {
        terminal::write(&text)?;
        return Ok(match read_key(question.choices.len(), &keys, input)? {
            Key::Number(number) => Reply::Answer(question.choices[number].answer.clone()),
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
        let position = match read_key(Position::ALL.len(), &['?', 'b', 'q'], input)? {
            Key::Number(number) => Some(Position::ALL[number]),
            Key::Letter('?') => None,
            Key::Letter('b') => return Ok(None),
            Key::Letter(_) => return Ok(Some(Reply::Stop)),
        };
        if let Some(position) = position.filter(|position| !position.has_top()) {
            return Ok(Some(Reply::Answer(Answer::State { time, position, top: None })));
        }
        let who = position.map_or_else(|| "Who was on top?".to_owned(), shown::who_was_on_top);
        let [first, second] = Athlete::BOTH.map(|athlete| round.name(athlete));
        terminal::write(&format!(
            "\n{who}\n  1  {first}    2  {second}    ?  I don't know    b  back to the positions    \
             q  stop\n"
        ))?;
        let top = match read_key(2, &['?', 'b', 'q'], input)? {
            Key::Number(number) => Some(Athlete::BOTH[number]),
            Key::Letter('?') => None,
            Key::Letter('b') => continue,
            Key::Letter(_) => return Ok(Some(Reply::Stop)),
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
}

/// Reads lines until one is the number of a choice, from 1, or one of these letters, the last of
/// which stops; so does the end of the input.
fn read_key(
    choices: usize,
    letters: &[char],
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

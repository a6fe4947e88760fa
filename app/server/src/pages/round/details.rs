//! What is kept about a round besides what happened: who, when, how long, and the words that the
//! coach teaches the program from it.

use academy::{Member, RoundKind};
use axum::response::Response;
use jiff::civil::Date;
use store::{ClassId, MemberId, RoundFacts, SpokenForm};
use talk::Lexicon;
use talk::lexicon::LexiconFault;

use super::editing::{Editing, Sent};
use crate::error::PageError;
use crate::frame;
use crate::pages::add_round::form::{Problems, check_length};
use crate::spoken_names::first_name;

/// Changes what is kept about the round, if what was answered about it still fits.
pub(crate) async fn details(editing: Editing) -> Result<Response, PageError> {
    editing.is_not_told_live().await?;
    let facts = editing.app.book.round_facts(editing.id).await?;
    let facts = changed(facts, &editing.sent, editing.app.today())?;
    let Editing { app, id, .. } = &editing;
    let by = editing.by()?;
    let round = app.book.round(&facts).await?;
    let (told, forms) = (app.book.told(*id).await?, app.book.spoken_forms().await?);
    // What cannot be read, or what the answers do not fit, is not kept.
    app.read(&facts, &round, &told, &forms).await?;
    let what = "Changed what is kept about the round";
    app.book.change_round(&by, *id, what, &facts).await?;
    Ok(editing.back(&format!("{what}.")))
}

fn changed(facts: RoundFacts, sent: &Sent, today: Date) -> Result<RoundFacts, PageError> {
    let refused = |text: &str| PageError::Refused(text.to_owned());
    let member = |name: &str| -> Result<MemberId, PageError> {
        sent.text(name).parse().map(MemberId).map_err(|_| refused("choose two people"))
    };
    let athletes = [member("first")?, member("second")?];
    if athletes[0] == athletes[1] {
        return Err(refused("choose two different people"));
    }
    let mut problems = Problems::default();
    let length = check_length(sent.text("length"), &mut problems);
    if let Some(told) = problems.by_field.remove("length") {
        return Err(PageError::Refused(told));
    }
    let length = length.ok_or_else(|| refused("the round needs a length, such as 5:00"))?;
    let date = sent.text("date").parse().map_err(|_| refused("choose the day of the round"))?;
    if date > today && date != facts.date {
        return Err(refused("that day has not come yet"));
    }
    Ok(RoundFacts {
        date,
        kind: RoundKind::from_id(sent.text("kind"))
            .ok_or_else(|| refused("choose what kind of round it was"))?,
        gi: sent.text("gi") == "yes",
        athletes,
        length,
        class: sent.text("class").parse().ok().map(ClassId),
        ..facts
    })
}

/// Takes the round out of the book; its page then offers to bring it back.
pub(crate) async fn delete(editing: Editing) -> Result<Response, PageError> {
    editing.app.book.delete_round(&editing.by()?, editing.id).await?;
    let page = format!("/rounds/{}", editing.id.0);
    Ok(frame::go(&page, "Deleted the round. You can still undo that here."))
}

/// Teaches what was really said where something was misheard, and reads the round again.
pub(crate) async fn word(editing: Editing) -> Result<Response, PageError> {
    let Editing { app, visitor, id, sent, .. } = &editing;
    let heard = sent.text("heard").to_lowercase();
    let rightly = !sent.text("rightly").is_empty();
    let meant = if rightly { heard.as_str() } else { sent.text("meant") };
    if heard.is_empty() || !rightly {
        teachable(editing.app.book.members().await?.iter(), &heard, meant)?;
    }
    let mut forms = app.book.spoken_forms().await?;
    forms.retain(|form| form.heard != heard);
    forms.push(SpokenForm { id: 0, heard: heard.clone(), meant: meant.to_owned() });
    let facts = app.book.round_facts(*id).await?;
    let round = app.book.round(&facts).await?;
    let told = app.book.told(*id).await?;
    app.read(&facts, &round, &told, &forms).await?;
    app.book.teach(&app.by(visitor, None), &heard, meant).await?;
    let read = if rightly { "as it was said" } else { meant };
    let said = format!(
        "From now on \"{heard}\" is read {}{read}, in every round. \
         Forget it again under \"Learned so far\".",
        if rightly { "" } else { "as " }
    );
    Ok(editing.back(&said))
}

/// Whether the words can mean that: a term of the lexicon, or a person.
fn teachable<'a>(
    mut people: impl Iterator<Item = &'a (MemberId, Member)>,
    heard: &str,
    meant: &str,
) -> Result<(), PageError> {
    if heard.is_empty() || meant.is_empty() {
        let told = "say both what the talk has and what was really said";
        return Err(PageError::Refused(told.to_owned()));
    }
    let meant_key = meant.to_lowercase();
    let called = |name: &str| name.to_lowercase() == meant_key || first_name(name) == meant_key;
    if people.any(|(_, member)| called(&member.name)) {
        return Ok(());
    }
    let (_, refused) = Lexicon::builtin().with_spoken_forms(&[(heard, meant)]);
    let Some(refused) = refused.into_iter().next() else { return Ok(()) };
    Err(PageError::Refused(match refused.fault {
        LexiconFault::NoSuchTerm(_) => format!(
            "\"{meant}\" is no position or technique that the program knows, and nobody's name: \
             choose one of those that are offered"
        ),
        LexiconFault::SharedForm(_, term) => format!(
            "\"{heard}\" is a name of {} already, and can't mean something else too",
            term.replace('_', " ")
        ),
        other => other.to_string(),
    }))
}

/// Forgets a taught word, and reads the round again.
pub(crate) async fn forget_word(editing: Editing) -> Result<Response, PageError> {
    let Editing { app, visitor, sent, .. } = &editing;
    let number = sent.text("word").parse().unwrap_or(0);
    app.book.unteach(&app.by(visitor, None), number).await?;
    Ok(editing.back("Forgot that word."))
}

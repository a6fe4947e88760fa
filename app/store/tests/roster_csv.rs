//! People out to a spreadsheet and in again.

use academy::{Belt, Consent, Guardian, Member, Pronoun, Role};
use jiff::civil::Date;
use proptest::option;
use proptest::prelude::*;
use store::roster_csv::{export, preview};
use store::{Book, By, MemberId, StoreError, Subject};

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

fn known(members: &[Member]) -> Vec<(MemberId, Member)> {
    (1..).map(MemberId).zip(members.iter().cloned()).collect()
}

fn petra() -> Member {
    Member {
        name: "Petra".to_owned(),
        belt: Belt::Blue,
        weight: Some(61.0),
        notes: "likes, and \"teaches\", half guard;\nold knee".to_owned(),
        ..Member::default()
    }
}

fn date() -> impl Strategy<Value = Date> {
    (1950_i16..2050, 1_i8..13, 1_i8..29)
        .prop_map(|(year, month, day)| Date::new(year, month, day).expect("a day of every month"))
}

fn consent() -> impl Strategy<Value = Consent> {
    any::<(bool, bool)>().prop_map(|(club, public)| Consent { club, public })
}

/// Texts with everything that could break a table.
fn text() -> impl Strategy<Value = String> {
    "[-=+@'\"a-zé,;\t\r\n ]{0,12}"
}

fn member() -> impl Strategy<Value = Member> {
    let guardian = (text(), text(), consent()).prop_map(|(name, contact, consent)| Guardian {
        name,
        contact,
        consent,
    });
    let who = ("[=@'a-zÉß\"-]{1,8}( [a-z,;]{1,5})?", 0_usize..4, 0_usize..3, 0_usize..9, 0_u8..5);
    let when = (
        option::of(date()),
        option::of(date()),
        option::of(10.0..300.0),
        option::of(1900_i16..2101),
    );
    let rest = (text(), consent(), option::of(guardian), any::<bool>());
    (who, when, rest).prop_map(|(who, when, rest)| Member {
        name: who.0,
        pronoun: ["he", "she", "they"].get(who.1).and_then(|word| Pronoun::parse(word)),
        role: Role::ALL[who.2],
        belt: Belt::ALL[who.3],
        stripes: who.4,
        belt_since: when.0,
        joined: when.1,
        weight: when.2,
        birth_year: when.3,
        notes: rest.0,
        consent: rest.1,
        guardian: rest.2,
        left: rest.3,
    })
}

proptest! {
    #[test]
    fn what_goes_out_comes_in_as_the_same(members in prop::collection::vec(member(), 0..8)) {
        let mut members = members;
        for (number, member) in members.iter_mut().enumerate() {
            member.name = format!("{}{number}", member.name);
        }
        let people = known(&members);
        let text = export(people.iter().map(|(_, member)| member));
        let seen = preview(&text, &people);
        prop_assert_eq!(&seen.problems, &[]);
        prop_assert_eq!(&seen.changed, &[]);
        prop_assert_eq!(&seen.new, &[]);
        prop_assert_eq!(seen.same.len(), people.len());
    }

    #[test]
    fn into_an_empty_book_everybody_comes_as_they_were(members in prop::collection::vec(member(), 0..8)) {
        let mut members = members;
        for (number, member) in members.iter_mut().enumerate() {
            member.name = format!("{}{number}", member.name);
            // Space around texts is no matter, and nobody answers for a person without a name.
            member.notes = member.notes.trim().to_owned();
            if let Some(guardian) = &mut member.guardian {
                guardian.name = format!("g{}", guardian.name.trim());
                guardian.contact = guardian.contact.trim().to_owned();
            }
        }
        let seen = preview(&export(&members), &[]);
        prop_assert_eq!(&seen.problems, &[]);
        let new: Vec<Member> = seen.new.into_iter().map(|newcomer| newcomer.member).collect();
        prop_assert_eq!(new, members);
    }

    #[test]
    fn no_file_is_too_strange(text in "(name|belt|weight|[,;\t\r\n\"'=-]|[a-z0-9é ]){0,60}") {
        let seen = preview(&text, &known(&[petra()]));
        let named = seen.problems.iter().all(|problem| problem.line >= 1 && !problem.what.is_empty());
        prop_assert!(named, "{:?}", seen.problems);
    }

    #[test]
    fn no_cell_is_a_formula(members in prop::collection::vec(member(), 1..4)) {
        for record in csv::Reader::from_reader(export(&members).as_bytes()).records() {
            for cell in record.unwrap().iter() {
                prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell}");
            }
        }
    }
}

#[test]
fn the_header_is_the_one_that_is_promised() {
    let text = export(&[petra()]);
    assert_eq!(
        text.lines().next().unwrap(),
        "name,pronoun,role,belt,stripes,belt_since,joined,weight,birth_year,consent_club,\
         consent_public,guardian,guardian_contact,guardian_club,guardian_public,left,notes"
    );
    assert!(text.contains("\r\nPetra,,student,blue,0,,,61,,no,no,,,,,no,\"likes"), "{text}");
}

#[test]
fn a_file_of_another_program_is_read() {
    // Semicolons, a mark at the start, CR LF, other order and capitals, commas in numbers, a column
    // of its own, an empty line.
    let text = "\u{feff}Belt;Phone;NAME;Weight;Birth year\r\nblue;123;petra ;61;\r\n\r\n\
                Purple;;Idris;70,5 kg;1998\r\n";
    let seen = preview(text, &known(&[petra()]));
    assert_eq!(seen.problems, []);
    assert_eq!(seen.unknown_columns, ["Phone"]);
    assert_eq!(seen.same, [MemberId(1)]);
    let idris = &seen.new[0].member;
    assert_eq!((idris.name.as_str(), idris.belt), ("Idris", Belt::Purple));
    assert_eq!((idris.weight, idris.birth_year), (Some(70.5), Some(1998)));
    let tabs = preview("name\tbelt\nIdris\tpurple\n", &[]);
    assert_eq!(tabs.new[0].member.belt, Belt::Purple);
    let alone = preview("name\nIdris\nPetra\n", &[]);
    assert_eq!(alone.new.len(), 2);
}

#[test]
fn a_change_says_what_changes_and_an_empty_cell_leaves_what_is_kept() {
    let seen = preview("name,belt,weight,notes\nPetra,purple,,\n", &known(&[petra()]));
    let [changed] = &seen.changed[..] else { panic!("{seen:?}") };
    assert_eq!(changed.after, Member { belt: Belt::Purple, ..petra() });
    let [difference] = &changed.differences[..] else { panic!("{seen:?}") };
    let shown = (difference.column, difference.from.as_str(), difference.to.as_str());
    assert_eq!(shown, ("belt", "blue", "purple"));
}

#[test]
fn every_problem_is_named_with_its_line() {
    let text = "name,belt,joined,weight,consent_club,guardian_public\n\
                Ana,green-ish,2026-13-01,heavy,perhaps,yes\n\
                \"Bo\nStrand\",blue,31.03.2026,,,\n\
                ,blue,,,,\n\
                Cy,blue,,5,,\n\
                Dee,blue,,,,,extra\n\
                Eve,blue,,,,no\n\
                eve,white,,,,\n";
    let seen = preview(text, &[]);
    let lines: Vec<u64> = seen.problems.iter().map(|problem| problem.line).collect();
    assert_eq!(lines, [2, 2, 2, 2, 2, 3, 5, 6, 7, 9]);
    assert_eq!(seen.problem_rows(), 6);
    assert_eq!(seen.new.len(), 1);
    let told = |index: usize| seen.problems[index].what.as_str();
    assert!(told(0).starts_with("belt: \"green-ish\" is not understood: write one of white"));
    assert!(told(1).contains("year-month-day"), "{}", told(1));
    assert!(told(5).contains("31.03.2026"), "{}", told(5));
    assert_eq!(told(9), "eve is in line 8 already: take one of the rows out");
    for (text, word) in [
        ("", "empty"),
        ("belt\nblue\n", "called name"),
        ("name,name\n", "twice"),
        ("\n\n", "empty"),
    ] {
        let seen = preview(text, &[]);
        assert!(seen.problems[0].what.contains(word), "{text:?}: {seen:?}");
    }
}

#[tokio::test]
async fn one_undo_takes_an_import_back() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    book.add_member(&by(), &petra()).await.unwrap();
    let before = book.members().await.unwrap();
    let seen = preview("name,belt\nPetra,purple\nIdris,white\nAna,white\nBo,plaid\n", &before);
    let refused = book.import(&by(), &seen, false).await.unwrap_err();
    assert!(matches!(refused, StoreError::Refused(_)), "{refused}");
    assert_eq!(book.members().await.unwrap(), before);
    let done = book.import(&by(), &seen, true).await.unwrap();
    assert_eq!((done.new, done.changed, done.left_out), (2, 1, 1));
    let after = book.members().await.unwrap();
    assert_eq!(after.len(), 3);
    let what = book.undo(Subject::Roster, &by()).await.unwrap();
    assert_eq!(what.as_deref(), Some("Imported 2 people and changed 1"));
    assert_eq!(book.members().await.unwrap(), before);
    book.redo(Subject::Roster, &by()).await.unwrap();
    assert_eq!(book.members().await.unwrap(), after);
    // The preview is out of date now: Petra is purple already.
    let stale = book.import(&by(), &seen, true).await.unwrap_err();
    assert!(matches!(stale, StoreError::OutOfDate), "{stale}");
}

#[test]
fn lines_are_counted_whichever_way_they_end() {
    for end in ["\n", "\r\n"] {
        let text = ["name,stripes", "Petra,1", "Idris,9", "\"Wren\",x"].join(end);
        let seen = preview(&text, &[]);
        let lines: Vec<u64> = seen.problems.iter().map(|problem| problem.line).collect();
        assert_eq!((seen.new[0].line, lines), (2, vec![3, 4]), "{end:?}");
    }
}

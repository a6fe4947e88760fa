//! Odd talks, lengths and names.

use super::*;

const SOMETHING: &[(u64, &str)] = &[
    (3, "will shoots for the double leg and takes mark down into half guard"),
    (12, "mark gets the underhook and he sweeps him nice"),
    (20, "and passes to side control"),
    (28, "armbar from mark tap tap"),
];

fn read(talk: &Talk, round: &Round) -> Ledger {
    let heard = reader().hear(talk, round);
    let ledger = reader().ledger(&heard, round, &[]).unwrap();
    assert_valid(&ledger, round);
    let questions = reader().questions(&heard, &[], 3).unwrap();
    assert!(questions.iter().all(|question| question.time < round.length().later(500)));
    let _ = reader().mentions(&heard);
    ledger
}

#[test]
fn a_silent_round_has_a_ledger_without_events() {
    let ledger = read(&Talk::default(), &round(["Petra", "Idris"], [None, None], 300_000));
    assert!(ledger.events().is_empty(), "{:?}", ledger.events());
}

#[test]
fn rounds_of_any_length_end_where_they_end() {
    let talk = talk_of(SOMETHING);
    for millis in [1, 499, 500, 501, 1_000, 7_000, 29_999, 227_300, 600_000] {
        read(&talk, &round(["Will", "Mark"], [None, None], millis));
    }
}

#[test]
fn rounds_of_every_kind_are_read() {
    let talk = talk_of(SOMETHING);
    for kind in RoundKind::ALL {
        let people = [person("Will", None), person("Mark", None)];
        let round = Round::new(people, kind, Time::from_millis(40_000)).unwrap();
        assert!(!read(&talk, &round).events().is_empty(), "{kind:?}");
    }
}

#[test]
fn answers_about_a_round_of_a_moment_do_not_matter_to_its_soundness() {
    let round = round(["Will", "Mark"], [None, None], 1);
    let heard = reader().hear(&talk_of(SOMETHING), &round);
    for kind in EventKind::ALL {
        let answers = [Answer::Event { time: seconds(3.0), kind, actor: Some(Athlete::First) }];
        assert_valid(&reader().ledger(&heard, &round, &answers).unwrap(), &round);
    }
    let span = Span::between(Time::ZERO, seconds(9.0));
    let answers =
        [Answer::Nothing { span }, Answer::Top { time: seconds(1.0), top: Athlete::First }];
    assert_valid(&reader().ledger(&heard, &round, &answers).unwrap(), &round);
}

#[test]
fn any_names_will_do() {
    let pronouns = [Some(Pronoun::He), Some(Pronoun::He)];
    for names in [
        ["Will", "Mark"],
        ["A", "B"],
        ["I", "he"],
        ["Zoë", "Łukasz"],
        ["Σωκράτης", "Мария"],
        ["李小龙", "さくら"],
        ["Mount", "Half Guard"],
        ["Ana", "Anna"],
        ["Jean-Luc de la Cruz", "O'Neill"],
        ["<name>", "#7"],
        ["🥋", "🥋🥋"],
    ] {
        let [one, other] = names;
        let lines: Vec<(u64, String)> = (SOMETHING.iter())
            .map(|(s, line)| (*s, line.replace("will", one).replace("mark", other)))
            .collect();
        let lines: Vec<(u64, &str)> = lines.iter().map(|(s, line)| (*s, line.as_str())).collect();
        for pronouns in [pronouns, [None, None], [Some(Pronoun::They), None]] {
            read(&talk_of(&lines), &round(names, pronouns, 40_000));
        }
    }
}

#[test]
fn names_that_are_words_are_still_names() {
    let ledger = read(
        &talk_of(SOMETHING),
        &round(["Will", "Mark"], [Some(Pronoun::He), Some(Pronoun::He)], 40_000),
    );
    let takedown = ledger.events().iter().find(|event| event.kind == EventKind::Takedown).unwrap();
    assert_eq!(takedown.actor, Some(Athlete::First));
    let sweep = ledger.events().iter().find(|event| event.kind == EventKind::Sweep).unwrap();
    assert_eq!(sweep.actor, Some(Athlete::Second));
}

#[test]
fn a_talk_that_goes_on_after_the_round_is_read_to_its_end() {
    let mut lines = SOMETHING.to_vec();
    lines.extend([(500, "okay next pair please"), (520, "mount armbar triangle choke tap")]);
    let ledger = read(&talk_of(&lines), &round(["Will", "Mark"], [None, None], 33_000));
    assert_eq!(ledger.end(), seconds(33.0));
}

#[test]
fn a_long_recording_is_read() {
    // Forty minutes: linear in length by construction; the benchmark reads three hours.
    let lines: Vec<(u64, &str)> = (0..80)
        .flat_map(|part| SOMETHING.iter().map(move |(s, line)| (part * 30 + s, *line)))
        .collect();
    let ledger = read(&talk_of(&lines), &round(["Will", "Mark"], [None, None], 2_400_000));
    assert!(ledger.events().len() > 80);
}

fn some_talk() -> impl Strategy<Value = Talk> {
    let trade = ["armbar", "half", "guard", "passes", "sweep", "tap", "he", "they", "ana", "bo"];
    let word = prop_oneof![
        prop::sample::select(trade.to_vec()).prop_map(str::to_owned),
        "[a-z]{1,9}",
        "\\PC{1,6}",
    ];
    let word = (word, 0u64..400_000, 0u64..3_000).prop_map(|(text, start, length)| Word {
        text,
        span: Span::between(Time::from_millis(start), Time::from_millis(start + length)),
        timed: start % 2 == 0,
    });
    let cue = (prop::collection::vec(word, 0..12), 0u64..400_000, 0u64..60_000).prop_map(
        |(words, start, length)| Cue {
            span: Span::between(Time::from_millis(start), Time::from_millis(start + length)),
            voice: None,
            words,
        },
    );
    prop::collection::vec(cue, 0..8).prop_map(Talk::new)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_words_at_any_times_give_a_sound_ledger(
        talk in some_talk(),
        length in 1u64..300_000,
    ) {
        read(&talk, &round(["Ana", "Bo"], [Some(Pronoun::She), None], length));
    }
}

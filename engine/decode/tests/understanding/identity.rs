//! Who is who: said where it is open, asked about first.

use super::*;

#[test]
fn a_round_without_names_may_be_swapped_and_others_not() {
    // Nobody is named in r29, where both are "he"; in r01 a she meets a he.
    for (name, open) in [("r29", true), ("r28", true), ("r01", false), ("r16", false)] {
        let known = Known::new(name, "auto.vtt");
        let understood = reader().understand(&known.heard, &known.truth.round, &[]).unwrap();
        assert_eq!(!understood.swapped.is_empty(), open, "{name}");
        let pairs = understood.swapped.windows(2);
        assert!(pairs.into_iter().all(|pair| pair[0].end() <= pair[1].start()));
    }
    // The same talk as r01's, but with names that nobody says, and no pronouns.
    let talk = talk::read(sample("r01.auto.vtt").as_bytes()).unwrap().talk;
    let round = round(["Xylophor", "Quuxbert"], [None, None], 300_000);
    let understood = reader().understand(&reader().hear(&talk, &round), &round, &[]).unwrap();
    let open: f64 = understood.swapped.iter().map(|span| span.seconds()).sum();
    assert!(open > 200.0, "{open} s");
}

#[test]
fn who_is_who_is_asked_first_and_one_answer_mends_much() {
    let known = Known::new("r29", "auto.vtt");
    let (heard, round) = (&known.heard, &known.truth.round);
    let understood = reader().understand(heard, round, &[]).unwrap();
    let questions = reader().questions_about(heard, &understood, &[], 0.0).unwrap();
    let [Choice { answer: one, .. }, Choice { answer: other, .. }] = &questions[0].choices[..]
    else {
        panic!("{:?}", questions[0]);
    };
    // Both choices name one position; they differ in who is on top.
    match (one, other) {
        (
            Answer::State { position: a, top: Some(first), .. },
            Answer::State { position: b, top: Some(second), .. },
        ) => assert!(a == b && first == &second.other()),
        _ => panic!("{:?}", questions[0]),
    }
    // Well inside a stretch of that position, as the ledger has it.
    let spell = understood.ledger.spell_at(questions[0].time).unwrap();
    assert!(matches!(one, Answer::State { position, .. } if *position == spell.position));
    let mended = reader().seconds_mended(heard, &understood, &questions[0]);
    assert!(mended > 15.0, "{mended:.1} s");
    // Either answer settles about as much, so that the sum of both is above what is certain now.
    let right = |answers: &[Answer]| -> f64 {
        let ledger = reader().ledger(heard, round, answers).unwrap();
        ledger.spells().iter().map(|s| s.span.seconds() * s.confidence).sum()
    };
    let now = right(&[]);
    assert!(right(std::slice::from_ref(one)) > now && right(std::slice::from_ref(other)) > now);
    // Passed over, it is not asked again, and another that settles the same is.
    let next = reader().questions_about(heard, &understood, &[questions[0].time], 0.0).unwrap();
    assert!(next.iter().all(|question| question.time.distance(questions[0].time) >= 2_000));
}

#[test]
fn what_is_settled_is_worth_nothing_more() {
    let known = Known::new("r01", "auto.vtt");
    let (heard, round) = (&known.heard, &known.truth.round);
    let understood = reader().understand(heard, round, &[]).unwrap();
    let question = reader().questions(heard, &[], 1).unwrap().remove(0);
    let before = reader().seconds_mended(heard, &understood, &question);
    assert!(before > 0.5 && before < 300.0, "{before}");
    let answers = [question.choices[0].answer.clone()];
    let after = reader().understand(heard, round, &answers).unwrap();
    let again = reader().seconds_mended(heard, &after, &question);
    assert!(again < 0.2 * before, "{before} before, {again} after");
}

#[test]
fn what_is_worth_little_is_not_asked() {
    let known = Known::new("r04", "clean.vtt");
    let understood = reader().understand(&known.heard, &known.truth.round, &[]).unwrap();
    let asked = |least| reader().questions_about(&known.heard, &understood, &[], least).unwrap();
    let (all, worth) = (asked(0.0), asked(WORTH_ASKING));
    assert!(!worth.is_empty() && worth.len() < all.len(), "{} of {}", worth.len(), all.len());
    for question in &all {
        let mended = reader().seconds_mended(&known.heard, &understood, question);
        assert_eq!(worth.contains(question), mended >= WORTH_ASKING);
    }
}

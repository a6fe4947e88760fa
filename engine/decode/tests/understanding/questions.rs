//! What is asked, and what answering does.

use super::*;

fn sorted(values: impl Iterator<Item = f64>) -> bool {
    values.collect::<Vec<_>>().is_sorted_by(|a, b| a >= b)
}

fn uncertainty(ledger: &Ledger) -> f64 {
    ledger.spells().iter().map(|s| s.span.seconds() * (1.0 - s.confidence)).sum()
}

fn ask(known: &Known, answers: &[Answer], most: usize) -> Vec<Question> {
    reader().questions(&known.heard, answers, most).unwrap()
}

#[test]
fn questions_are_in_order_and_apart() {
    for (name, captions) in [("r29", "auto.vtt"), ("r31", "blocks.txt"), ("r01", "clean.vtt")] {
        let known = Known::new(name, captions);
        let questions = ask(&known, &[], 12);
        assert!(!questions.is_empty() && questions.len() <= 12);
        assert!(sorted(questions.iter().map(|question| question.expected_gain)));
        for (index, question) in questions.iter().enumerate() {
            assert!(question.time < known.truth.round.length());
            assert!(!question.choices.is_empty());
            assert!(sorted(question.choices.iter().map(|choice| choice.probability)));
            let sum: f64 = question.choices.iter().map(|choice| choice.probability).sum();
            assert!(question.choices.iter().all(|c| c.probability > 0.0) && sum < 1.0 + 1e-9);
            for other in &questions[..index] {
                assert!(other.time.distance(question.time) >= 3_000, "{name}");
            }
        }
        assert!(ask(&known, &[], 0).is_empty());
    }
}

#[test]
fn an_answer_settles_and_is_not_asked_again() {
    for name in ["r01", "r29"] {
        let known = Known::new(name, "auto.vtt");
        let mut answers: Vec<Answer> = Vec::new();
        let before = uncertainty(&known.ledger(&[]));
        for step in 0..6 {
            let Some(question) = ask(&known, &answers, 1).into_iter().next() else { break };
            for answer in &answers {
                if let Answer::State { time, .. } | Answer::Spell { time, .. } = answer {
                    assert!(time.distance(question.time) >= 3_000, "{name}");
                }
            }
            let likeliest = question.choices[0].answer.clone();
            answers.push(likeliest);
            if step == 0 {
                let after = uncertainty(&known.ledger(&answers));
                assert!(after < before, "{name}: {before} before, {after} after");
            }
        }
        let after = uncertainty(&known.ledger(&answers));
        assert!(after < 0.9 * before, "{name}: {before} before, {after} after");
    }
}

#[test]
fn a_moment_passed_over_is_not_asked_again() {
    let known = Known::new("r29", "auto.vtt");
    let first = ask(&known, &[], 1).remove(0);
    let span = Span::between(first.time.earlier(3_000), first.time.later(3_000));
    for question in ask(&known, &[Answer::Nothing { span }], 8) {
        assert!(question.time.distance(first.time) >= 3_000);
    }
}

#[test]
fn a_question_shows_the_ledger_s_chance_for_what_the_ledger_says() {
    let known = Known::new("r31", "auto.vtt");
    let understood = reader().understand(&known.heard, &known.truth.round, &[]).unwrap();
    let mut own = 0;
    for question in reader().questions_about(&known.heard, &understood, &[], 0.0).unwrap() {
        let shown = understood.as_shown(&question);
        assert!(sorted(shown.choices.iter().map(|choice| choice.probability)));
        let sum: f64 = shown.choices.iter().map(|choice| choice.probability).sum();
        assert!(sum < 1.0 + 1e-9, "{shown:?}");
        let answers = |question: &Question| -> Vec<String> {
            let mut answers: Vec<_> =
                question.choices.iter().map(|choice| format!("{:?}", choice.answer)).collect();
            answers.sort();
            answers
        };
        assert_eq!(answers(&shown), answers(&question));
        let spell = understood.ledger.spell_at(question.time).unwrap();
        for choice in &shown.choices {
            if let Answer::State { position, top, .. } | Answer::Spell { position, top, .. } =
                choice.answer
                && (position, top) == (spell.position, spell.top)
            {
                own += 1;
                assert_eq!(choice.probability, spell.confidence);
            }
        }
    }
    assert!(own >= 3, "{own}");
}

#[test]
fn when_a_spell_began_and_ended_is_asked_and_its_guess_is_in_order() {
    let mut asked = 0;
    for (name, captions) in [("r01", "clean.vtt"), ("r16", "auto.vtt"), ("r31", "blocks.txt")] {
        let known = Known::new(name, captions);
        for question in ask(&known, &[], 12) {
            let About::Spell { position, top, start, end } = question.about else {
                let state = |choice: &Choice| matches!(choice.answer, Answer::State { .. });
                assert!(question.choices.iter().all(state));
                continue;
            };
            asked += 1;
            assert!(start || end);
            let guesses: Vec<&Answer> = (question.choices.iter())
                .map(|choice| &choice.answer)
                .filter(|answer| matches!(answer, Answer::Spell { .. }))
                .collect();
            let [Answer::Spell { time, position: said, top: on_top, start: from, end: to }] =
                guesses[..]
            else {
                panic!("{question:?}");
            };
            assert_eq!((time, said, on_top), (&question.time, &position, &top));
            assert_eq!((from.is_some(), to.is_some()), (start, end));
            assert!(from.is_none_or(|from| from <= *time) && to.is_none_or(|to| *time <= to));
            // Once told, its seconds are certain.
            let ledger = known.ledger(&[guesses[0].clone()]);
            let spell = ledger.spell_at(*time).unwrap();
            assert_eq!((spell.position, spell.top), (position, top));
        }
    }
    assert!(asked > 6, "{asked}");
}

//! How mentions are meant.

use super::*;

fn hear(lines: &[(u64, &str)]) -> (Talk, Heard) {
    let round = round(["Petra", "Idris"], [Some(Pronoun::She), Some(Pronoun::He)], 60_000);
    let talk = talk_of(lines);
    let heard = reader().hear(&talk, &round);
    (talk, heard)
}

fn named(mentions: &[Mention], id: &str) -> Mention {
    let lexicon = reader().lexicon();
    mentions.iter().find(|mention| lexicon.term(mention.term).id == id).unwrap().clone()
}

#[test]
fn mentions_are_distributions_and_lie_in_the_talk() {
    for captions in ["clean.vtt", "auto.vtt", "blocks.txt"] {
        let known = Known::new("r09", captions);
        let words = known.heard.seen.words.last().unwrap().word + 1;
        let mentions = reader().mentions(&known.heard);
        assert!(mentions.len() > 20);
        for mention in &mentions {
            assert!(mention.words.start < mention.words.end && mention.words.end <= words);
            assert!((mention.manners.iter().sum::<f64>() - 1.0).abs() < 1e-6, "{mention:?}");
            assert!(mention.manners.iter().all(|chance| (0.0..=1.0).contains(chance)));
            assert!(mention.athletes.iter().all(|chance| (0.0..=1.0).contains(chance)));
            assert!(mention.athletes.iter().sum::<f64>() <= 1.0 + 1e-9, "{mention:?}");
            assert!((0.0..=1.0).contains(&mention.probability));
        }
    }
}

#[test]
fn a_wish_is_no_event_and_a_tap_is_one() {
    let (_, heard) = hear(&[
        (2, "okay petra on top in the closed guard of idris"),
        (12, "i'd love to see the kimura from there"),
        (20, "petra passes to side control"),
        (30, "and that's the armbar from petra tap tap"),
    ]);
    let mentions = reader().mentions(&heard);
    let wish = named(&mentions, "kimura");
    let done = named(&mentions, "armbar");
    assert!(wish.takes_place() < 0.5, "{wish:?}");
    assert_eq!(wish.manner(), Manner::Wished);
    assert!(done.takes_place() > 0.5, "{done:?}");
    assert!(done.manner().takes_place());
}

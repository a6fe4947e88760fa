//! A round as the rule books would score it, with the reason of every award.

use std::sync::LazyLock;

use academy::{Athlete, Ledger, Round, Time};
use figures::scoring::{RuleSet, Scored, score};
use reports::wording::percent;

use crate::wording::{fragment, share};

/// From this probability on nothing is said about how sure an entry is.
const SURE: f64 = 0.8;

/// The rule sets that come with the program.
static RULES: LazyLock<[RuleSet; 2]> = LazyLock::new(|| [RuleSet::ibjjf(), RuleSet::adcc()]);

/// A round under one rule set.
pub(crate) struct ScoredView {
    pub(crate) rules: String,
    pub(crate) edition: String,
    pub(crate) source: String,
    /// "Nadira 7, Haruki 2"
    pub(crate) points: String,
    pub(crate) uncertain: Option<String>,
    /// What counts and what doesn't, under headings; the empty ones are left out.
    pub(crate) groups: Vec<(&'static str, Vec<Moment>)>,
    /// What is unsure about this reading of the rules.
    pub(crate) unsure: &'static [String],
}

/// Something that counts, or doesn't.
pub(crate) struct Moment {
    pub(crate) at: String,
    pub(crate) fragment: String,
    pub(crate) millis: u64,
    /// "+3", "−1"; empty where it gives nothing.
    pub(crate) points: String,
    pub(crate) words: String,
    /// How sure, where that is not much.
    pub(crate) unsure: Option<String>,
}

/// The round under every rule set; nothing where nothing is known of it.
pub(crate) fn scored(round: &Round, ledger: &Ledger) -> Vec<ScoredView> {
    RULES.iter().map(|rules| view(round, rules, &score(ledger, round, rules))).collect()
}

fn view(round: &Round, rules: &'static RuleSet, scored: &Scored) -> ScoredView {
    let moment =
        |time: Time, points: i32, athlete: Option<Athlete>, reason: &str, confidence: f64| {
            let who = athlete.map(|athlete| format!("{} ", round.name(athlete)));
            Moment {
                at: time.to_string(),
                fragment: fragment(time),
                millis: time.millis(),
                points: match points {
                    0 => String::new(),
                    points if points < 0 => format!("\u{2212}{}", -points),
                    points => format!("+{points}"),
                },
                words: reports::wording::capital(&format!("{}{reason}.", who.unwrap_or_default())),
                unsure: (confidence < SURE).then(|| format!("unsure, {}", percent(confidence))),
            }
        };
    let points = Athlete::BOTH
        .map(|athlete| format!("{} {}", round.name(athlete), scored.points[athlete.index()]));
    let ended = scored.ended.as_ref().map(|end| {
        let how = match (&end.technique, end.winner) {
            (Some(technique), Some(_)) => format!("won by {technique}"),
            (None, Some(_)) => "won by submission".to_owned(),
            (_, None) => "it ended by submission; nobody told whose".to_owned(),
        };
        moment(end.time, 0, end.winner, &how, end.confidence)
    });
    let awards = scored.awards.iter().map(|award| {
        let confidence = if award.confirmed { 1.0 } else { award.confidence };
        moment(award.time, award.points, Some(award.athlete), &award.reason, confidence)
    });
    let advantages = (scored.advantages.iter())
        .map(|one| moment(one.time, 0, Some(one.athlete), &one.reason, one.confidence));
    let nothing = (scored.not_counted.iter())
        .map(|one| moment(one.time, 0, one.athlete, &one.reason, one.confidence));
    let mut groups = vec![
        ("How it ended", ended.into_iter().collect::<Vec<Moment>>()),
        ("Points", awards.collect()),
        ("Advantages", advantages.collect()),
        ("What gives nothing", nothing.collect()),
    ];
    groups.retain(|(_, moments)| !moments.is_empty());
    ScoredView {
        rules: rules.name().to_owned(),
        edition: rules.edition().to_owned(),
        source: rules.source().to_owned(),
        points: points.join(", "),
        uncertain: (scored.uncertain > 0.0)
            .then(|| format!("{} of these points rest on guesses.", share(scored.uncertain))),
        groups,
        unsure: rules.unsure(),
    }
}

//! The balance of reward and risk of an action: the chance that the student submits the other one
//! after it, less the chance of being submitted.
//!
//! Published for elite competition: all 93 matches of the 2019 world championship without the gi,
//! *International Journal of Sports Science & Coaching* 2023, doi 10.1177/17479541231210979
//! (abstract). What it found is no norm for training (FACTS C12); what is taken from it is the
//! definition.

use crate::actions::{Action, Next, Transitions};
use crate::interval::{Interval, Level};
use crate::meant::quantile;
use crate::reward_process::{Chain, ChainError};
use crate::sampling::Draws;

/// So many of the group's stand behind every action of a student. `common practice`: an action done
/// twenty times is read mostly by itself.
pub const GROUP_ACTIONS: f64 = 5.0;

/// The balance of one action.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// What, and by whom.
    pub action: Action,
    /// Chance that the student has the next submission, 0 to 1, taps and those let go by choice.
    pub submits: f64,
    /// Chance that the other one has it, 0 to 1.
    pub submitted: f64,
    /// The first less the second, −1 to 1.
    pub value: f64,
    /// The middle 95 % of the draws, widened to hold the value where it would not.
    pub interval: Interval,
    /// How often the action was seen in the student's own rounds: an expected count. The fewer, the
    /// more it is the group's number.
    pub count: f64,
    /// Share of them that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// The balance of every action that the student or the group is known for, best first.
///
/// Actions are states that lead to each other, to a submission by either, or to the clock, each
/// with the share of times it did so (absorbing Markov chain, Kemeny and Snell 1960, *Finite Markov
/// Chains*, theorem 3.3.7): what came before an action is taken not to matter, and the first
/// submission ends it. A row's shares have a Dirichlet distribution with parameters own count +
/// [`GROUP_ACTIONS`] × the group's share; `value` is that of their means, and `draws` sets of rows
/// give the interval. The same seed gives the same answer.
///
/// An action that was seen to follow and of which nothing more is known counts as followed by the
/// clock.
#[must_use]
pub fn balances(own: &Transitions, group: &Transitions, draws: usize, seed: u64) -> Vec<Balance> {
    let actions: Vec<Action> = own.actions().union(&group.actions()).copied().collect();
    let rows: Vec<Vec<f64>> =
        actions.iter().map(|action| row(*action, &actions, own, group)).collect();
    let means: Vec<Vec<f64>> = rows.iter().map(|row| mean(row)).collect();
    let Ok(ends) = ends(&means) else { return Vec::new() };
    let mut chance = Draws::from_seed(seed);
    let mut drawn: Vec<Vec<f64>> = vec![Vec::with_capacity(draws); actions.len()];
    for _ in 0..draws {
        let shares: Vec<Vec<f64>> = rows.iter().map(|row| draw(row, &mut chance)).collect();
        let Ok(ends) = self::ends(&shares) else { continue };
        for (drawn, ends) in drawn.iter_mut().zip(ends) {
            drawn.push(ends[0] - ends[1]);
        }
    }
    let mut balances: Vec<Balance> = (actions.into_iter().zip(ends).zip(drawn))
        .map(|((action, ends), mut drawn)| {
            let value = ends[0] - ends[1];
            drawn.sort_by(f64::total_cmp);
            let tail = Level::NINETY_FIVE.tail();
            let limit = |share| if drawn.is_empty() { value } else { quantile(&drawn, share) };
            let (low, high) = (limit(tail).min(value), limit(1.0 - tail).max(value));
            let done = own.done(action);
            Balance {
                action,
                submits: ends[0],
                submitted: ends[1],
                value,
                interval: Interval::between(low, high),
                count: done.all,
                confirmed: done.confirmed(),
            }
        })
        .collect();
    balances.sort_by(|one, other| {
        other.value.total_cmp(&one.value).then(one.action.cmp(&other.action))
    });
    balances
}

/// The ends, in the order of the columns behind those of the actions.
const ENDS: [Next; 3] = [Next::Submits, Next::Submitted, Next::Clock];

/// Parameters of an action's row: to every action, then to every end.
fn row(action: Action, actions: &[Action], own: &Transitions, group: &Transitions) -> Vec<f64> {
    let theirs = group.done(action).all;
    let behind = if theirs > 0.0 { GROUP_ACTIONS / theirs } else { 0.0 };
    let parameter = |next| own.count(action, next) + behind * group.count(action, next);
    let onward = actions.iter().map(|to| parameter(Next::Action(*to)));
    let mut row: Vec<f64> = onward.chain(ENDS.map(parameter)).collect();
    if row.iter().sum::<f64>() <= 0.0 {
        row[actions.len() + 2] = 1.0;
    }
    row
}

fn mean(row: &[f64]) -> Vec<f64> {
    let sum: f64 = row.iter().sum();
    row.iter().map(|parameter| parameter / sum).collect()
}

/// Shares drawn for those columns that have a parameter.
fn draw(row: &[f64], chance: &mut Draws) -> Vec<f64> {
    let parameters: Vec<f64> = row.iter().copied().filter(|one| *one > 0.0).collect();
    let Ok(drawn) = chance.dirichlet(&parameters) else { return mean(row) };
    let mut drawn = drawn.into_iter();
    let share = |parameter: &f64| if *parameter > 0.0 { drawn.next() } else { None };
    row.iter().map(share).map(|share| share.unwrap_or(0.0)).collect()
}

/// The chance of each end from each action.
fn ends(rows: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, ChainError> {
    let actions = rows.len();
    let onward: Vec<Vec<f64>> = rows.iter().map(|row| row[..actions].to_vec()).collect();
    let out: Vec<Vec<f64>> = rows.iter().map(|row| row[actions..].to_vec()).collect();
    let mut ends = Chain::new(&onward, &out)?.ends()?;
    // Chances but for the rounding of the equations.
    ends.iter_mut().flatten().for_each(|chance| *chance = chance.clamp(0.0, 1.0));
    Ok(ends)
}

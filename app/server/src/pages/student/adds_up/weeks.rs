//! Week by week: three small pictures, and whether the pace has a trend.

use figures::Figure;
use figures::over_time::Week;
use figures::overview::{InWeek, StudentFigures};
use reports::sentences::Said;
use reports::{ByWeek, Voice, WeekUnit, Whose, by_week_in_page};

use super::Picture;
use crate::wording::amount;

/// A trend is told as one up to this p-value.
const MORE_THAN_CHANCE: f64 = 0.05;

/// Weeks with rounds, as pictures.
pub(crate) struct WeeksView {
    /// With fewer than two weeks there is nothing to draw.
    pub(crate) pictures: Vec<(&'static str, Picture)>,
    pub(crate) trend: Option<Said>,
    /// By week: Monday, rounds, and the three figures.
    pub(crate) table: Vec<[String; 5]>,
}

impl WeeksView {
    pub(super) fn new(figures: &StudentFigures, whose: &Whose<'_>) -> Self {
        let weeks = &figures.weeks.weeks;
        let name = match whose.voice {
            Voice::You => "you",
            Voice::Third | Voice::Together => whose.name,
        };
        let of = |pick: fn(&InWeek) -> Option<Figure>| -> Vec<Week<Option<Figure>>> {
            let week = |week: &Week<InWeek>| Week {
                monday: week.monday,
                rounds: week.rounds,
                figure: pick(&week.figure),
            };
            weeks.iter().map(week).collect()
        };
        let shown = [
            ("pace", "Changes a minute", WeekUnit::PerMinute, of(|week| week.pace)),
            ("pinned", "Time pinned underneath", WeekUnit::Share, of(|week| week.pinned_below)),
            ("got-out", "Got out of bad positions", WeekUnit::Share, of(|week| week.got_out)),
        ];
        let pictures = shown.iter().filter(|(_, _, _, weeks)| {
            weeks.iter().filter(|week| week.figure.is_some()).count() > 1
        });
        let pictures = pictures.map(|(id, what, unit, weeks)| {
            let title = format!("{what}, {name}");
            let drawn = ByWeek { title: &title, unit: *unit, weeks };
            let draw = |width, id: &str| by_week_in_page(&drawn, width, id);
            (*what, Picture::of(&format!("weeks-{id}"), draw))
        });
        WeeksView {
            pictures: pictures.collect(),
            trend: trend(figures),
            table: weeks.iter().map(row).collect(),
        }
    }
}

fn trend(figures: &StudentFigures) -> Option<Said> {
    let trend = figures.weeks.pace.as_ref()?;
    let factor = trend.factor.value;
    let percent = (factor - 1.0).abs() * 100.0;
    let line = if trend.p_value > MORE_THAN_CHANCE {
        "The pace of changes goes up and down from week to week, with no trend that is more than \
         chance."
            .to_owned()
    } else if factor > 1.0 {
        format!("The pace of changes has grown by about {percent:.0} % a week, more than chance.")
    } else {
        format!(
            "The pace of changes has gone down by about {percent:.0} % a week, more than chance."
        )
    };
    let limits = trend.factor.interval;
    let numbers = format!(
        "Times {factor:.2} a week (95 % limits {:.2} to {:.2}); by luck alone {:.0} %.",
        limits.low(),
        limits.high(),
        trend.p_value * 100.0
    );
    Some(Said { line, numbers })
}

fn row(week: &Week<InWeek>) -> [String; 5] {
    let none = || "\u{2013}".to_owned();
    let of = |figure: Option<Figure>, shown: fn(f64) -> String| {
        figure.map_or_else(none, |figure| {
            let [low, high] = [figure.interval.low(), figure.interval.high()].map(shown);
            format!("{} ({low} to {high})", shown(figure.value))
        })
    };
    [
        crate::wording::day(week.monday),
        week.rounds.to_string(),
        of(week.figure.pace, amount),
        of(week.figure.pinned_below, crate::wording::share),
        of(week.figure.got_out, crate::wording::share),
    ]
}

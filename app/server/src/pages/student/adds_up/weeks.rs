//! Week by week: three small pictures, and whether the pace has a trend.

use figures::Figure;
use figures::over_time::Week;
use figures::overview::{InWeek, StudentFigures};
use reports::sentences::{Said, trend};
use reports::{ByWeek, Voice, WeekUnit, Whose, by_week_in_page};

use super::Picture;
use crate::wording::amount;

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
            trend: figures.weeks.pace.as_ref().map(|pace| trend("changes a minute", pace)),
            table: weeks.iter().map(row).collect(),
        }
    }
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

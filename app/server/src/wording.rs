//! Dates, belts and counts in words, the same on every page.

use std::path::Path;

use academy::{Audience, Member, Time};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// A day: "2 Nov 2026".
pub(crate) fn day(date: Date) -> String {
    date.strftime("%-d %b %Y").to_string()
}

/// A moment of the world in this machine's time: "2 Nov 2026, 14:05".
pub(crate) fn moment(seconds: i64) -> String {
    match Timestamp::from_second(seconds) {
        Ok(at) => at.to_zoned_datetime(TimeZone::system()).strftime("%-d %b %Y, %H:%M").to_string(),
        Err(_) => "at an unknown time".to_owned(),
    }
}

/// The part of an address that names a moment of a round: the page's script goes there, and without
/// it the browser goes to the line of the list that has this id.
pub(crate) fn fragment(time: Time) -> String {
    format!("t={:.1}", time.seconds())
}

/// A count with its noun: "1 round", "3 rounds".
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A share of something: "34 %".
pub(crate) fn share(value: f64) -> String {
    match value {
        little if little > 0.0 && little < 0.005 => "under 1 %".to_owned(),
        value => format!("{:.0} %", value * 100.0),
    }
}

/// A number that is no count: "2.3", "0.08"; whole where it is.
pub(crate) fn amount(value: f64) -> String {
    if !value.is_finite() {
        "no limit".to_owned()
    } else if (value - value.round()).abs() < 0.005 {
        format!("{:.0}", value.abs())
    } else if value < 1.0 {
        format!("{value:.2}")
    } else {
        format!("{value:.1}")
    }
}

/// A length: "1:20".
pub(crate) fn minutes_and_seconds(seconds: f64) -> String {
    Time::from_seconds(seconds.round()).to_string()
}

/// A belt with its stripes: "blue belt, 2 stripes".
pub(crate) fn belt(member: &Member) -> String {
    let belt = member.belt.id();
    match member.stripes {
        0 => format!("{belt} belt"),
        stripes => format!("{belt} belt, {}", count(stripes.into(), "stripe", "stripes")),
    }
}

/// Whether a book in this folder is one for trying things out, as the first steps make it.
pub(crate) fn is_trial(folder: &Path) -> bool {
    folder.iter().any(|part| part == "demo-book" || part == "build")
}

/// What is said of somebody's age where it matters.
pub(crate) fn minor(member: &Member, year: i16) -> Option<&'static str> {
    let certainly = member.birth_year.is_some_and(|born| year - born < 18);
    member.is_minor(year).then_some(if certainly { "Under 18" } else { "May be under 18" })
}

/// To whom a person may be shown, in whole sentences.
pub(crate) fn consent(member: &Member, year: i16) -> [String; 2] {
    let told = |audience, place: &str| match member.may_be_shown_to(audience, year) {
        Ok(()) => format!("May be shown {place}."),
        Err(why) => format!("Not to be shown {place}: {why}."),
    };
    [told(Audience::Club, "within the club"), told(Audience::Public, "to the public")]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_who_turns_eighteen_this_year_may_be_under_it() {
        let born = |year| Member { birth_year: Some(year), ..Member::default() };
        let told = |year| minor(&born(year), 2026);
        assert_eq!(told(2012), Some("Under 18"));
        assert_eq!(told(2009), Some("Under 18"));
        assert_eq!(told(2008), Some("May be under 18"));
        assert_eq!(told(2007), None);
    }

    #[test]
    fn numbers_are_as_short_as_they_can_be() {
        assert_eq!(
            [0.0, 0.004, 0.0824, 2.0, 2.34, 31.96].map(amount).join(" "),
            "0 0 0.08 2 2.3 32.0"
        );
        assert_eq!([0.0, 0.001, 0.345, 1.0].map(share).join(", "), "0 %, under 1 %, 34 %, 100 %");
        assert_eq!(minutes_and_seconds(79.6), "1:20");
    }

    #[test]
    fn trial_folders_are_known_by_their_place() {
        assert!(is_trial(Path::new("/home/ines/grapevine/build/demo-book")));
        assert!(!is_trial(Path::new("/home/ines/.local/share/grapevine/book")));
    }
}

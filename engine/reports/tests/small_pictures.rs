//! Getting out as curves, and figures by week, as their readers get them.

use academy::Position;
use figures::getting_out::{GettingOut, getting_out, stays};
use figures::over_time::by_week as by_week_of;
use figures::round::changes_per_minute;
use reports::{
    ByWeek, OutCurves, TideWidth, Voice, WeekUnit, by_week, by_week_in_page, out_curves,
    out_curves_in_page,
};

use crate::invented::{Academy, PETRA, petra};

const WIDTHS: [TideWidth; 2] = [TideWidth::Laptop, TideWidth::Phone];

fn side_control(see: impl FnOnce(&GettingOut, &GettingOut)) {
    let academy = Academy::with_rounds(40);
    let rounds = academy.rounds();
    let others: Vec<_> = (2..10).flat_map(|id| stays(&rounds, figures::AthleteId(id))).collect();
    let [own, others] = [stays(&rounds, PETRA), others]
        .map(|stays| getting_out(&stays, Position::SideControl).expect("stays"));
    see(&own, &others);
}

#[test]
fn out_of_side_control() {
    side_control(|own, others| {
        let shown =
            OutCurves { whose: petra(Voice::You), own, others: Some((others, "other blue belts")) };
        insta::assert_snapshot!(out_curves(&shown, TideWidth::Laptop));
    });
}

#[test]
fn curves_say_themselves_in_words() {
    side_control(|own, others| {
        let shown = OutCurves {
            whose: petra(Voice::Third),
            own,
            others: Some((others, "other blue belts")),
        };
        for width in WIDTHS {
            let svg = out_curves_in_page(&shown, width, "out-1");
            let document = roxmltree::Document::parse(&svg).unwrap();
            let text = document
                .root_element()
                .children()
                .filter_map(|node| node.text())
                .collect::<Vec<_>>()
                .join(" ");
            assert!(text.contains("Getting out from under side control: Petra"), "{text}");
            assert!(text.contains("By 20 seconds: out "), "{text}");
            assert!(text.contains("The dashed line: other blue belts, out "), "{text}");
            assert!(!svg.contains("NaN") && !svg.contains("style="));
        }
        // Without the others there is no dashed line.
        let alone = OutCurves { others: None, ..shown };
        assert!(!out_curves_in_page(&alone, TideWidth::Laptop, "a").contains("class=\"others\""));
    });
}

#[test]
fn pace_by_week() {
    let academy = Academy::with_rounds(40);
    let weeks = by_week_of(&academy.rounds(), PETRA, changes_per_minute);
    let shown = ByWeek { title: "Changes a minute", unit: WeekUnit::PerMinute, weeks: &weeks };
    insta::assert_snapshot!(by_week(&shown, TideWidth::Laptop));
    let svg = by_week_in_page(&shown, TideWidth::Phone, "pace");
    assert!(svg.contains("Week of 2 March, ") && roxmltree::Document::parse(&svg).is_ok());
}

#[test]
fn no_weeks_make_an_empty_picture() {
    for unit in [WeekUnit::Share, WeekUnit::PerMinute] {
        let shown = ByWeek { title: "Nothing", unit, weeks: &[] };
        let svg = by_week(&shown, TideWidth::Phone);
        assert!(
            roxmltree::Document::parse(&svg).is_ok() && svg.contains("No week has a number yet.")
        );
    }
}

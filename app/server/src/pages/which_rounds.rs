//! Which rounds a page's figures are of, as its form and its address say: a kind, the gi, or all.
//! Pages that show the form have a `which` and include `pages/which_rounds.html`.

use academy::RoundKind;
use figures::overview::Selection;
use serde::Deserialize;

use crate::fields::Fields;

/// What an address or a form says of it; what it does not know means all.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Which {
    #[serde(default)]
    kind: String,
    #[serde(default)]
    gi: String,
}

/// The choice, and the form that changes it.
#[derive(Clone, Debug)]
pub(crate) struct WhichRounds {
    pub(crate) selection: Selection,
    /// Where the form leads.
    pub(crate) action: String,
    pub(crate) kinds: Vec<(&'static str, &'static str, bool)>,
    pub(crate) clothes: [(&'static str, &'static str, bool); 3],
    /// What keeps the choice in an address: "?kind=flow&gi=no", or nothing.
    pub(crate) query: String,
    /// The values that the page's forms carry.
    pub(crate) carried: [(&'static str, &'static str); 2],
    /// "flow rolls in the gi"; nothing where all rounds count.
    pub(crate) only: Option<String>,
}

impl Which {
    /// As a form of the page carries it.
    pub(crate) fn of(fields: &Fields) -> Self {
        Which { kind: fields.text("kind").to_owned(), gi: fields.text("gi").to_owned() }
    }

    /// The choice for the page at an address.
    pub(crate) fn rounds(&self, action: impl Into<String>) -> WhichRounds {
        let kind = RoundKind::from_id(&self.kind);
        let gi = match self.gi.as_str() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        };
        let kinds = RoundKind::ALL.map(|one| (one.id(), many(one), Some(one) == kind));
        let parts = [
            kind.map(|kind| format!("kind={}", kind.id())),
            gi.map(|gi| format!("gi={}", if gi { "yes" } else { "no" })),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        let worn = gi.map(|gi| if gi { "in the gi" } else { "without the gi" });
        let only = match (kind, worn) {
            (None, None) => None,
            (kind, worn) => {
                let words = [Some(kind.map_or("rounds", many)), worn];
                Some(words.into_iter().flatten().collect::<Vec<_>>().join(" "))
            }
        };
        WhichRounds {
            selection: Selection { kinds: kind.into_iter().collect(), gi, ..Selection::default() },
            action: action.into(),
            kinds: [("", "all kinds", kind.is_none())].into_iter().chain(kinds).collect(),
            clothes: [
                ("", "gi and no-gi", gi.is_none()),
                ("yes", "gi", gi == Some(true)),
                ("no", "no-gi", gi == Some(false)),
            ],
            carried: [
                ("kind", kind.map_or("", RoundKind::id)),
                ("gi", gi.map_or("", |gi| if gi { "yes" } else { "no" })),
            ],
            query: if parts.is_empty() { String::new() } else { format!("?{}", parts.join("&")) },
            only,
        }
    }
}

/// The kind of many rounds.
const fn many(kind: RoundKind) -> &'static str {
    match kind {
        RoundKind::Flow => "flow rolls",
        RoundKind::Positional => "positional rounds",
        RoundKind::Hard => "hard rounds",
        RoundKind::Competition => "matches",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn which(kind: &str, gi: &str) -> WhichRounds {
        Which { kind: kind.to_owned(), gi: gi.to_owned() }.rounds("/students/1")
    }

    #[test]
    fn a_choice_is_kept_in_addresses_and_said_in_words() {
        let all = which("", "");
        assert_eq!((all.query.as_str(), all.only), ("", None));
        assert_eq!(all.selection, Selection::default());
        let some = which("flow", "no");
        assert_eq!(some.query, "?kind=flow&gi=no");
        assert_eq!(some.only.as_deref(), Some("flow rolls without the gi"));
        assert_eq!(some.selection.kinds, [RoundKind::Flow]);
        assert_eq!(which("", "yes").only.as_deref(), Some("rounds in the gi"));
        // What is none of them, such as markup, comes back in no link.
        assert_eq!(which("<b>", "\"").query, "");
    }
}

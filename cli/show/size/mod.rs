//! Sizes with what stands behind them, ready to be shown.

pub(crate) mod terminal;
pub(crate) mod yaml;

use loadworthy_checks::figure_text::{self, percent, value};
use loadworthy_checks::list::by_name;
use loadworthy_checks::review::Setting;
use loadworthy_checks::size::{Stop, Way};

use crate::outcome::Outcome;
use crate::show::layout::free_text;
use crate::show::patch;
use crate::size::{Choice, Sizes};

impl Sizes {
    /// How a run ends with them.
    pub(crate) fn outcome(&self) -> Outcome {
        let sized = &self.sized;
        if self.accepted.iter().any(Option::is_none) {
            Outcome::Fails
        } else if !sized.open.is_empty() || !sized.broken.is_empty() || !sized.judges_a_duty_point {
            Outcome::NotJudged
        } else {
            Outcome::Holds
        }
    }

    /// The changes as a merge patch over the description; nothing where nothing changes.
    pub(crate) fn patch(&self) -> Option<String> {
        let setting = |(path, written): &(String, String)| Setting {
            path: path.clone(),
            written: written.clone(),
            instead_of: None,
        };
        let settings: Vec<Setting> = self.written.iter().map(setting).collect();
        if settings.is_empty() { None } else { patch::text(&settings) }
    }
}

/// The size at a place in text; a part by its name, with how large it is.
pub(crate) fn size(choice: &Choice, place: usize) -> String {
    let size = value(choice.size(place), choice.dimension());
    choice.name(place).map_or(size.clone(), |name| format!("{} ({size})", free_text(name)))
}

/// What does not hold: check and part, then where and by how much.
pub(crate) fn stop(stop: &Stop) -> (String, String) {
    if let Way::NotJudged(why) = &stop.way {
        return ("can no longer be judged".to_owned(), free_text(&why.join("; ")));
    }
    let what = if stop.part.is_empty() {
        stop.check.to_owned()
    } else {
        format!("{}   {}", stop.check, free_text(&stop.part))
    };
    let when = [stop.duty.as_deref(), stop.variant.as_deref()].into_iter().flatten().map(free_text);
    let when = when.collect::<Vec<_>>().join(", ");
    let how = match &stop.way {
        Way::Exceeds(figure, compared) => {
            let text = figure_text::comparison(compared);
            let figure = figure.replace('_', " ");
            format!("{figure} {}, allowed {}, {}", text.carried, text.allowed, text.headroom)
        }
        Way::NoSolution(share) => format!("no solution; {} of what is asked has one", percent(*share)),
        Way::Structural => in_words(stop),
        Way::NotJudged(why) => why.join("; "),
    };
    (what, if when.is_empty() { how } else { format!("{when}: {how}") })
}

/// What a check says of a defect, in a line.
fn in_words(stop: &Stop) -> String {
    let check = by_name(stop.check);
    let known = check.and_then(|check| check.about().defects.iter().find(|(name, _)| *name == stop.defect));
    known.map_or(stop.defect, |(_, line)| line).to_owned()
}

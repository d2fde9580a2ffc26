//! Where else a finding fails.

/// Duty points of one variant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlsoIn {
    /// The variant, where it is not that of the finding.
    pub variant: Option<String>,
    /// Its duty points.
    pub duties: Vec<String>,
    /// Whether it fails so whatever is asked.
    pub whatever_is_asked: bool,
}

impl AlsoIn {
    /// Each duty point with its variant, for whoever reads a list.
    pub fn each(&self) -> impl Iterator<Item = String> {
        let duty = |duty: &String| match &self.variant {
            Some(variant) => format!("{duty}, {variant}"),
            None => duty.clone(),
        };
        let whatever = self.whatever_is_asked.then(|| match &self.variant {
            Some(variant) => format!("variant {variant}"),
            None => WHATEVER.to_owned(),
        });
        self.duties.iter().map(duty).chain(whatever)
    }

    /// All of it in words, such as `reefer: climb, cruise`.
    fn words(&self) -> String {
        let mut duties = self.duties.clone();
        match (&self.variant, duties.is_empty()) {
            (Some(variant), true) => return format!("variant {variant}"),
            (_, false) if !self.whatever_is_asked => {}
            _ => duties.push(WHATEVER.to_owned()),
        }
        let duties = duties.join(", ");
        self.variant.as_ref().map_or_else(|| duties.clone(), |variant| format!("{variant}: {duties}"))
    }
}

const WHATEVER: &str = "whatever is asked";

/// Where else in words, such as `climb, cruise (reefer: climb, cruise)`; nothing where it is nowhere else.
#[must_use]
pub fn also_in_words(all: &[AlsoIn]) -> Option<String> {
    let (own, others): (Vec<_>, Vec<_>) = all.iter().partition(|one| one.variant.is_none());
    let words = |all: Vec<&AlsoIn>| all.into_iter().map(AlsoIn::words).collect::<Vec<_>>().join("; ");
    match (words(own), words(others)) {
        (own, others) if own.is_empty() && others.is_empty() => None,
        (own, others) if own.is_empty() => Some(others),
        (own, others) if others.is_empty() => Some(own),
        (own, others) => Some(format!("{own} ({others})")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(variant: Option<&str>, duties: &[&str], whatever_is_asked: bool) -> AlsoIn {
        let duties = duties.iter().map(|duty| (*duty).to_owned()).collect();
        AlsoIn { variant: variant.map(str::to_owned), duties, whatever_is_asked }
    }

    #[test]
    fn duty_points_stand_together_with_their_variant() {
        let (own, other) = (one(None, &["a", "b"], false), one(Some("reefer"), &["a", "b"], false));
        let tall = one(Some("tall"), &[], true);
        let say = |all: &[AlsoIn]| also_in_words(all).unwrap_or_default();
        assert_eq!(say(&[own.clone(), other.clone()]), "a, b (reefer: a, b)");
        assert_eq!(say(&[own.clone(), other.clone(), tall.clone()]), "a, b (reefer: a, b; variant tall)");
        assert_eq!(say(std::slice::from_ref(&tall)), "variant tall");
        assert_eq!(say(std::slice::from_ref(&other)), "reefer: a, b");
        assert_eq!(say(&[one(None, &[], true)]), "whatever is asked");
        assert_eq!(also_in_words(&[]), None);
        let each = |all: &AlsoIn| all.each().collect::<Vec<_>>();
        assert_eq!(
            (each(&other), each(&tall)),
            (vec!["a, reefer".into(), "b, reefer".into()], vec!["variant tall".into()])
        );
    }
}

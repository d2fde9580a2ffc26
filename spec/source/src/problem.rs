//! What is wrong with a description, and where.

use crate::span::Span;

/// Something wrong with a description.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Problem {
    /// What sort of problem it is: one kebab-case word, such as `unknown-key`.
    pub kind: &'static str,
    /// The sentence: subject, expected, found.
    pub message: String,
    /// The text that it is about.
    pub at: Span,
    /// What the marked text is, or why it is marked.
    pub label: String,
    /// Other places that belong to it, each with its label.
    pub also: Vec<(Span, String)>,
    /// What to write instead.
    pub way_out: Option<String>,
    /// The one text that was clearly meant, and where: nothing where several may have been.
    pub meant: Option<Meant>,
    /// The variants that it hits; empty where it does not depend on one.
    pub variants: Vec<String>,
}

/// A word, a name, a key or a value that was clearly meant in place of what is written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Meant {
    /// The text.
    pub text: String,
    /// Everywhere that it was meant.
    pub places: Vec<Span>,
    /// Whether it stands for the first step of what is written there alone, such as the stage of a switch position.
    pub is_first_step: bool,
    /// Whether what follows from the description is followed as if it stood there.
    pub is_taken: bool,
}

impl Problem {
    /// A problem with a sentence, a place and a label; the rest is added with the other functions.
    pub fn new(kind: &'static str, at: Span, message: impl Into<String>, label: impl Into<String>) -> Self {
        Self {
            kind,
            message: message.into(),
            at,
            label: label.into(),
            also: Vec::new(),
            way_out: None,
            meant: None,
            variants: Vec::new(),
        }
    }

    /// Adds another place.
    #[must_use]
    pub fn with_also(mut self, at: Span, label: impl Into<String>) -> Self {
        self.also.push((at, label.into()));
        self
    }

    /// Says what to write instead.
    #[must_use]
    pub fn with_way_out(mut self, way_out: impl Into<String>) -> Self {
        self.way_out = Some(way_out.into());
        self
    }

    /// Says which text was clearly meant where the problem is, if one was.
    #[must_use]
    pub fn with_meant(mut self, text: Option<impl Into<String>>) -> Self {
        let places = vec![self.at];
        let (is_first_step, is_taken) = (false, false);
        self.meant = text.map(|text| Meant { text: text.into(), places, is_first_step, is_taken });
        self
    }

    /// The same of the first step of a place, such as the stage of a switch position.
    #[must_use]
    pub fn with_first_step_meant(self, name: Option<impl Into<String>>) -> Self {
        let mut problem = self.with_meant(name);
        problem.meant = problem.meant.map(|meant| Meant { is_first_step: true, ..meant });
        problem
    }
}

/// How many problems of one file are collected; one more says how many are not shown.
pub const MOST_PROBLEMS: usize = 200;

/// Problems of one file, in the order of the text, at most [`MOST_PROBLEMS`] and a closing one.
#[derive(Debug, Default)]
pub struct Problems {
    kept: Vec<Problem>,
    left_out: usize,
}

impl Problems {
    /// None yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one, unless there are enough; it is built only if it is kept.
    pub fn add(&mut self, problem: impl FnOnce() -> Problem) {
        if self.kept.len() < MOST_PROBLEMS {
            self.kept.push(problem());
        } else {
            self.left_out += 1;
        }
    }

    /// How many were added, those not kept included.
    #[must_use]
    pub fn count(&self) -> usize {
        self.kept.len() + self.left_out
    }

    /// Whether none was added.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// Sorts them by their place, and closes with the number left out, if any.
    #[must_use]
    pub fn finish(self) -> Vec<Problem> {
        let mut kept = self.kept;
        kept.sort_by_key(|problem| problem.at);
        if self.left_out > 0
            && let Some(at) = kept.last().map(|last| last.at)
        {
            let noun = if self.left_out == 1 { "problem" } else { "problems" };
            kept.push(Problem::new(
                "more-problems",
                at,
                format!("… and {} more {noun} in this file", self.left_out),
                "the last one shown",
            ));
        }
        kept
    }
}

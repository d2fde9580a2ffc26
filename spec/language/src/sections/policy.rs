//! The team's derating, and findings accepted beforehand.

use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Ratio};
use crate::schema::{CHECK_PATTERN, DAY_PATTERN};
use crate::sections::isolation::BarrierKind;

/// How much of a limit may be used: one of the two.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PolicyEntry {
    /// Allowed is the limit times this.
    pub use_at_most: Option<Given<Ratio>>,
    /// Allowed is the limit less this.
    pub keep: Option<Given<crate::quantity::Margin>>,
}

/// A finding accepted beforehand (a deviation permit in the sense of ISO 9000): one finding, with all parts, duty points and
/// variants that it names, as far as the permit is not narrower.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Permit {
    /// The check.
    #[schemars(extend("pattern" = CHECK_PATTERN))]
    pub check: Located<String>,
    /// A part of the finding, or a stage that it lies in.
    pub part: Located<String>,
    /// What is wrong with it, where the check finds several things, such as `too-hot`.
    pub defect: Option<Located<String>>,
    /// The variant, where it holds for one alone.
    pub variant: Option<Located<String>>,
    /// The duty point, where it holds for one alone.
    pub duty_point: Option<Located<String>>,
    /// A worse figure than this is a finding again: a share of the limit or a figure in its unit.
    pub up_to: Option<Located<String>>,
    /// Which of the things that a finding names are accepted, such as `[phase_currents]` where something joins two
    /// domains past every barrier; another one that joins them later is a finding again.
    pub only: Option<Located<Vec<Located<String>>>>,
    /// The kind of insulation that is accepted, where a finding says of which kind a barrier is and compares no figure; less than that is
    /// a finding again.
    #[serde(rename = "as")]
    pub kind: Option<Located<BarrierKind>>,
    /// Why it is accepted.
    pub reason: Located<String>,
    /// Who accepts it.
    pub accepted_by: Located<String>,
    /// The last day it holds, e.g. `2027-03-31`.
    #[schemars(extend("pattern" = DAY_PATTERN))]
    pub until: Located<String>,
}

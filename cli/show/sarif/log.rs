//! The objects of the format that are written here; names and meanings are those of the OASIS standard.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::show::json::Quantity;
use crate::show::terminal::CAUTION;

/// Where the schema of the format is published.
pub(super) const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

#[derive(Serialize)]
pub(super) struct Log {
    #[serde(rename = "$schema")]
    pub(super) schema: &'static str,
    pub(super) version: &'static str,
    pub(super) runs: [Run; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Run {
    pub(super) tool: Tool,
    pub(super) invocations: [Invocation; 1],
    pub(super) automation_details: AutomationDetails,
    pub(super) original_uri_base_ids: BTreeMap<&'static str, Base>,
    pub(super) newline_sequences: [&'static str; 3],
    pub(super) column_kind: &'static str,
    pub(super) results: Vec<Result>,
    pub(super) properties: RunProperties,
}

#[derive(Serialize)]
pub(super) struct AutomationDetails {
    pub(super) id: &'static str,
}

#[derive(Serialize)]
pub(super) struct Base {
    description: Message,
}

impl Base {
    pub(super) fn new(text: &str) -> Self {
        Self { description: Message { text: text.to_owned() } }
    }
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct RunProperties {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) permits_held_against: Option<String>,
    pub(super) cautions: Vec<String>,
}

#[derive(Serialize)]
pub(super) struct Tool {
    pub(super) driver: Driver,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Driver {
    name: &'static str,
    semantic_version: &'static str,
    full_description: Message,
    rules: Vec<Rule>,
}

impl Driver {
    pub(super) fn new(rules: Vec<Rule>) -> Self {
        let text = format!("Reviews the concept of a power control unit from one text file. {CAUTION}");
        Self {
            name: "Loadworthy",
            semantic_version: env!("CARGO_PKG_VERSION"),
            full_description: Message { text },
            rules,
        }
    }
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Rule {
    pub(super) id: String,
    pub(super) short_description: Message,
    pub(super) full_description: Message,
    pub(super) help: Help,
    pub(super) default_configuration: Configuration,
    pub(super) properties: RuleProperties,
}

#[derive(Serialize)]
pub(super) struct Help {
    pub(super) text: String,
    pub(super) markdown: String,
}

#[derive(Serialize)]
pub(super) struct Configuration {
    pub(super) level: Level,
}

#[derive(Serialize)]
pub(super) struct RuleProperties {
    pub(super) precision: &'static str,
    pub(super) tags: Vec<&'static str>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Level {
    Error,
    Warning,
    Note,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Invocation {
    pub(super) exit_code: u8,
    pub(super) exit_code_description: &'static str,
    pub(super) execution_successful: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) tool_execution_notifications: Vec<Notification>,
}

#[derive(Serialize)]
pub(super) struct Notification {
    pub(super) level: Level,
    pub(super) message: Message,
}

#[derive(Clone, Debug, Serialize)]
pub(super) struct Message {
    pub(super) text: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Result {
    pub(super) rule_id: String,
    pub(super) rule_index: usize,
    pub(super) level: Level,
    pub(super) message: Message,
    pub(super) locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) related_locations: Vec<Location>,
    pub(super) partial_fingerprints: Fingerprints,
    /// Empty where nothing accepts it: a run in which one result has them must have them everywhere.
    pub(super) suppressions: Vec<Suppression>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) fixes: Vec<Fix>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) properties: Option<Properties>,
}

impl Result {
    pub(super) fn uri(&self) -> &str {
        let [location] = &self.locations;
        &location.physical_location.artifact_location.uri
    }
}

#[derive(Serialize)]
pub(super) struct Fingerprints {
    /// What hosts follow a result by: of the text of its line.
    #[serde(rename = "primaryLocationLineHash")]
    pub(super) line: String,
    /// Ours: of check, part and defect, so that it survives any edit of the text.
    #[serde(rename = "loadworthyFinding/v1")]
    pub(super) own: String,
}

#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) id: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) message: Option<Message>,
    pub(super) physical_location: PhysicalLocation,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct PhysicalLocation {
    pub(super) artifact_location: Artifact,
    pub(super) region: Region,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Artifact {
    pub(super) uri: String,
    pub(super) uri_base_id: &'static str,
}

/// Lines and columns from 1; the end column is the one behind the last character.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Region {
    pub(super) start_line: u32,
    pub(super) start_column: u32,
    pub(super) end_line: u32,
    pub(super) end_column: u32,
}

#[derive(Serialize)]
pub(super) struct Suppression {
    pub(super) kind: &'static str,
    pub(super) status: &'static str,
    pub(super) justification: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) location: Option<Location>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Fix {
    pub(super) description: Message,
    pub(super) artifact_changes: Vec<ArtifactChange>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactChange {
    pub(super) artifact_location: Artifact,
    pub(super) replacements: Vec<Replacement>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Replacement {
    pub(super) deleted_region: Region,
    pub(super) inserted_content: Content,
}

#[derive(Serialize)]
pub(super) struct Content {
    pub(super) text: String,
}

/// What is known of a finding as numbers and names.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Properties {
    pub(super) grade: &'static str,
    pub(super) defect: &'static str,
    pub(super) part: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) variant: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) duty_point: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) carried: Option<Quantity>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) limit: Option<Quantity>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) allowed: Option<Quantity>,
    /// In kelvin below allowed for temperatures, otherwise a share of allowed; negative where it fails.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) headroom: Option<Quantity>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) also_in: Vec<String>,
}

//! The description language: what may stand in a description, and how it is read.
//!
//! [`read`] takes the text of a description and gives, for each of its variants, a typed [`Description`] in which
//! every value knows where it was written, together with every problem that the text has. What is broken is void
//! and reported, what is missing is absent, and nothing is filled in: defaults are named in [`defaults`] and taken
//! by whoever needs them. [`schema`] is the same language as a JSON Schema.
//!
//! The order of reading is: parts files, the variant's merge patch, changes from the command line, problems. The
//! crate opens no file; [`Files`] does.

pub mod defaults;
pub mod difference;
mod document;
mod kinds;
mod ledger;
mod meant;
mod misnamed;
mod misses;
mod overrides;
mod parts;
mod policy;
pub mod quantity;
mod read;
mod reader;
mod references;
pub mod resolved;
mod rules;
mod schema;
pub mod sections;
mod strange_keys;
mod variants;
mod walk;

pub use document::{Description, Section, SectionEntry, SectionPart};
pub use kinds::{FileKind, alone, kind_of};
pub use overrides::OVERRIDE;
pub use parts::Files;
pub use policy::{PolicyForm, PolicyItem};
pub use read::{Input, MeantReading, Reading, VariantReading, read};
pub use schema::{Guide, Guided, Tags, schema, schema_text};

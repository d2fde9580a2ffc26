//! What a source stands for good and for a while, and how long it remembers.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::sources::{CurrentLimit, PowerLimit, Source as WrittenSource};
use loadworthy_physics::{Time, Voltage};
use loadworthy_source::NodeId;

use crate::build::{Build, duty};
use crate::ids::InputId;
use crate::plan::{SourceLimit, SourceLimits};
use crate::table::Stated;

/// Longest peaks that a source remembers, times this.
const OVER_PEAKS: f64 = 10.0;

/// Time constant with which the RMS current of a source over the rows of a mission fades.
pub(crate) fn memory(
    build: &mut Build<'_>,
    said: &str,
    written: &WrittenSource,
    limits: &SourceLimits,
    at: NodeId,
) -> InputId {
    let stated = build.stated_or(written.memory(), at, &defaults::SOURCE_MEMORY, |time| time.si());
    let is_assumed = written.memory().is_none();
    let longest = limits.all().map(|peak| OVER_PEAKS * peak.lasts).filter(|memory| memory.is_finite());
    let value = longest
        .filter(|_| is_assumed)
        .fold(stated.value, |value, peak| if peak > value { peak } else { value });
    build.tables.limit(format!("{said}.memory"), Dimension::Time, Stated { value, ..stated })
}

/// Whether a duty point that ends lasts longer than all peaks that are stated, so that only a rating for good covers it.
pub(crate) fn are_outlasted(build: &Build<'_>, limits: &SourceLimits) -> bool {
    let lasting = || build.description.duty.readable().filter_map(|(_, _, point)| duty::lasts(point));
    [&limits.discharge, &limits.charge, &limits.power].into_iter().any(|limits| {
        let longest =
            limits.iter().map(|limit| limit.lasts).filter(|lasts| lasts.is_finite()).fold(0.0, f64::max);
        limits.iter().any(|limit| limit.lasts.is_infinite()) && lasting().any(|lasts| lasts > longest)
    })
}

/// A rating for good, or for as long and as often as stated.
fn limit_of(peak: Option<(&Given<Time>, Option<&Given<Time>>)>, most: InputId) -> SourceLimit {
    match peak {
        Some((lasts, every)) => {
            SourceLimit { lasts: lasts.si(), every: every.map_or(0.0, |every| every.si()), most, place: 0 }
        }
        None => SourceLimit { lasts: f64::INFINITY, every: 0.0, most, place: 0 },
    }
}

/// What a source stands, for good and for a while.
pub(crate) fn limits(build: &mut Build<'_>, said: &str, written: &WrittenSource) -> SourceLimits {
    let of_current = |build: &mut Build<'_>, key: &str, limit: Option<&CurrentLimit>| {
        let mut all = Vec::new();
        let Some(limit) = limit else { return all };
        if let Some(continuous) = &limit.continuous {
            let stated = build.stated(Some(continuous), None, |amps| amps.si());
            let path = format!("{said}.{key}.continuous");
            all.push(limit_of(None, build.tables.input(path, Dimension::Current, stated)));
        }
        for (k, peak) in limit.peaks.iter().flatten().enumerate() {
            let stated = build.stated(Some(&peak.current), None, |amps| amps.si());
            let path = format!("{said}.{key}.peaks.{k}.current");
            let most = build.tables.input(path, Dimension::Current, stated);
            all.push(limit_of(Some((&peak.lasts, peak.every.as_ref())), most));
        }
        all
    };
    let of_power = |build: &mut Build<'_>, limit: Option<&PowerLimit>| {
        let mut all = Vec::new();
        let Some(limit) = limit else { return all };
        if let Some(continuous) = &limit.continuous {
            let stated = build.stated(Some(continuous), None, |watts| watts.si());
            let path = format!("{said}.power.continuous");
            all.push(limit_of(None, build.tables.input(path, Dimension::Power, stated)));
        }
        for (k, peak) in limit.peaks.iter().flatten().enumerate() {
            let stated = build.stated(Some(&peak.power), None, |watts| watts.si());
            let path = format!("{said}.power.peaks.{k}.power");
            let most = build.tables.input(path, Dimension::Power, stated);
            all.push(limit_of(Some((&peak.lasts, peak.every.as_ref())), most));
        }
        all
    };
    let (discharge, charge, power) = match written {
        WrittenSource::Battery(battery) => (battery.discharge.as_ref(), battery.charge.as_ref(), None),
        WrittenSource::FuelCell(cell) => (cell.discharge.as_ref(), None, cell.power.as_ref()),
        WrittenSource::Generator(generator) => (generator.discharge.as_ref(), None, generator.power.as_ref()),
    };
    let mut limits = SourceLimits {
        discharge: of_current(build, "discharge", discharge),
        charge: of_current(build, "charge", charge),
        power: of_power(build, power),
        open_circuit: None,
    };
    let first: usize = build.plan.sources.iter().map(|source| source.limits.all().count()).sum();
    let own = limits.discharge.iter_mut().chain(&mut limits.charge).chain(&mut limits.power);
    own.enumerate().for_each(|(place, limit)| limit.place = first + place);
    if let WrittenSource::Battery(battery) = written
        && let Some(span) = &battery.open_circuit
        && let (Some(lowest), Some(highest)) = (&span.lowest, &span.highest)
    {
        let mut volts = |key: &str, given: &Given<Voltage>| {
            let stated = build.stated(Some(given), None, |volts| volts.si());
            build.tables.input(format!("{said}.open_circuit.{key}"), Dimension::Voltage, stated)
        };
        limits.open_circuit = Some((volts("lowest", lowest), volts("highest", highest)));
    }
    limits
}

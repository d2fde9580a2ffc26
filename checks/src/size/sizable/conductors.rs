//! Sections of conductors, and fuses.

use loadworthy_unit::plan::{Body, Conductor};
use loadworthy_unit::{Dimension, DutyId};

use super::{Follower, Found, Rule, Unsizable};
use crate::size::{Kind, series};

const IDLE: &str = "carries nothing in service";

impl Found<'_> {
    /// Whether every duty point leaves a conductor without any current: no size of it is asked for.
    fn is_idle(&self, conductor: &Conductor) -> bool {
        let amps = |lane| self.solved.figure(conductor.rms.unwrap_or(conductor.current), lane);
        let mut lanes = self.variant.lane_ids().peekable();
        lanes.peek().is_some() && lanes.all(|lane| amps(lane).is_some_and(|amps| amps.abs() <= 0.0))
    }

    pub(super) fn conductors(&mut self) {
        let variant = self.variant;
        for conductor in &variant.plan.conductors {
            let part = variant.path(conductor.part).to_owned();
            let not = |why| Unsizable {
                kind: Kind::Sections,
                part: part.clone(),
                what: String::new(),
                // What carries nothing in one variant may be sized by another.
                paths: if why == IDLE {
                    Vec::new()
                } else {
                    ["width", "thickness", "section"].map(|key| format!("conductors.{part}.{key}")).to_vec()
                },
                why,
            };
            let Some(heat) = &conductor.heat else {
                let why = if conductor.rated.is_some() {
                    "states the current that it stands, which no section explains"
                } else {
                    IDLE
                };
                self.unsizable.push(not(why));
                continue;
            };
            if self.is_idle(conductor) {
                self.unsizable.push(not(IDLE));
                continue;
            }
            if heat.section.is_none() && !matches!(heat.body, Body::Contact { .. }) {
                self.unsizable.push(not("states its resistance, which no section explains"));
                continue;
            }
            match heat.body {
                Body::Bar { width, thickness, gap, .. } => {
                    let thin = part.clone();
                    self.put(Kind::Sections, part, "width", vec![width], |_| series::bar_widths());
                    self.put(Kind::Sections, thin, "thickness", vec![thickness], |_| {
                        series::bar_thicknesses(gap.is_some())
                    });
                }
                Body::Cable { section, outer_diameter, .. } => {
                    let outer = Follower {
                        path: self.path(outer_diameter),
                        described: self.stated(outer_diameter),
                        dimension: Dimension::Length,
                        rule: Rule::Around,
                    };
                    let cables = |_| series::cable_sections();
                    if let Some(cable) = self.put(Kind::Sections, part, "section", vec![section], cables)
                        && outer.described.is_finite()
                    {
                        cable.followers.push(outer);
                    }
                }
                Body::Foil { width, thickness, .. } => {
                    let thin = part.clone();
                    self.put(Kind::Sections, part, "width", vec![width], |_| series::foil_widths());
                    self.put(Kind::Sections, thin, "thickness", vec![thickness], |_| {
                        series::foil_thicknesses()
                    });
                }
                Body::Contact { .. } => {}
            }
        }
    }

    /// Fuses: those of parts files where these offer others of the same voltage, else a family of elements in parallel, so
    /// that the rated current and the least current that is broken grow with their number, I²t with its square, and the
    /// resistance falls with it.
    pub(super) fn fuses(&mut self) {
        let variant = self.variant;
        for fuse in &variant.plan.fuses {
            let conductor = &variant.plan.conductors[fuse.conductor];
            let part = variant.path(conductor.part).to_owned();
            if self.is_idle(conductor) {
                let (kind, what) = (Kind::Fuses, "rated current".to_owned());
                self.unsizable.push(Unsizable { kind, part, what, paths: Vec::new(), why: IDLE });
                continue;
            }
            let behind = fuse.protects.iter().map(|one| variant.plan.conductors[one.conductor].part);
            let behind: Vec<String> = behind.map(|part| variant.path(part).to_owned()).collect();
            if let Some(own) = self.fuse_on_offer(&part) {
                own.near.extend(behind);
                continue;
            }
            let others =
                [(fuse.melting, 2), (fuse.clearing, 2), (fuse.least_breaking, 1), (conductor.resistance, -1)];
            let followers = others.into_iter().filter_map(|(input, power)| {
                let stated = variant.tables.stated(input, DutyId::new(0));
                let own = variant.tables.input_of(input);
                let (path, dimension) = (own.path.clone(), own.dimension);
                let rule = Rule::Power(power);
                (stated.origin.is_written() && stated.value.is_finite()).then_some(Follower {
                    path,
                    described: stated.value,
                    dimension,
                    rule,
                })
            });
            let followers: Vec<Follower> = followers.collect();
            if let Some(own) =
                self.put(Kind::Fuses, part, "rated current", vec![fuse.rated], |_| series::fuses())
            {
                own.followers.extend(followers);
                own.near.extend(behind);
            }
        }
    }
}

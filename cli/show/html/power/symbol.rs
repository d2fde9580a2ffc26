//! Symbols of the trade (after IEC 60617), each in a square of 30.

use super::super::markup::Markup;
use super::super::svg::{circle, rect, stroke};

/// Side of the square that a symbol stands in.
pub(crate) const SIDE: f64 = 30.0;

/// What is drawn beside a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Symbol {
    Battery,
    Source,
    Chopper,
    Isolated,
    Bridge,
    Machine,
    Load,
    Bank,
}

impl Symbol {
    /// What it is called in a table.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Battery => "battery",
            Self::Source => "source",
            Self::Chopper | Self::Isolated | Self::Bridge => "stage",
            Self::Machine => "machine",
            Self::Load => "load",
            Self::Bank => "capacitors",
        }
    }

    pub(crate) fn draw(self, out: &mut Markup, (x, y): (f64, f64)) {
        let line = |out: &mut Markup, points: &[(f64, f64)]| {
            let moved: Vec<_> = points.iter().map(|(px, py)| (x + px, y + py)).collect();
            stroke(out, "sym", &moved);
        };
        let direct = |out: &mut Markup, px: f64, py: f64| {
            line(out, &[(px, py), (px + 9.0, py)]);
            line(out, &[(px, py + 4.0), (px + 3.0, py + 4.0)]);
            line(out, &[(px + 6.0, py + 4.0), (px + 9.0, py + 4.0)]);
        };
        match self {
            Self::Battery => {
                line(out, &[(0.0, 15.0), (8.0, 15.0)]);
                line(out, &[(8.0, 4.0), (8.0, 26.0)]);
                line(out, &[(13.0, 9.0), (13.0, 21.0)]);
                line(out, &[(18.0, 4.0), (18.0, 26.0)]);
                line(out, &[(23.0, 9.0), (23.0, 21.0)]);
                line(out, &[(23.0, 15.0), (30.0, 15.0)]);
            }
            Self::Source => {
                circle(out, "sym", (x + 15.0, y + 15.0), 12.0);
                direct(out, 10.5, 13.0);
            }
            Self::Chopper | Self::Isolated | Self::Bridge => {
                rect(out, "sym", (x, y), (SIDE, SIDE));
                line(out, &[(0.0, 30.0), (30.0, 0.0)]);
                if self == Self::Isolated {
                    line(out, &[(4.0, 30.0), (30.0, 4.0)]);
                }
                direct(out, 4.0, 6.0);
                if self == Self::Bridge {
                    out.raw("<path class=\"sym\" d=\"M").at(x + 16.0).raw(" ").at(y + 23.0);
                    out.raw("q2.5 -6 5 0t5 0\"/>\n");
                } else {
                    direct(out, 17.0, 20.0);
                }
            }
            Self::Machine => {
                circle(out, "sym", (x + 15.0, y + 15.0), 14.0);
                line(out, &[(8.0, 18.0), (8.0, 8.0), (12.0, 14.0), (16.0, 8.0), (16.0, 18.0)]);
                out.raw("<path class=\"sym\" d=\"M")
                    .at(x + 11.0)
                    .raw(" ")
                    .at(y + 23.0)
                    .raw("q2 -4 4 0t4 0\"/>\n");
                line(out, &[(19.0, 10.0), (22.0, 10.0)]);
                line(out, &[(19.0, 13.0), (22.0, 13.0)]);
                line(out, &[(19.0, 16.0), (22.0, 16.0)]);
            }
            Self::Load => {
                line(out, &[(0.0, 15.0), (5.0, 15.0)]);
                rect(out, "sym", (x + 5.0, y + 9.0), (20.0, 12.0));
                line(out, &[(9.0, 21.0), (21.0, 9.0)]);
            }
            Self::Bank => {
                line(out, &[(0.0, 15.0), (12.0, 15.0)]);
                line(out, &[(12.0, 4.0), (12.0, 26.0)]);
                line(out, &[(18.0, 4.0), (18.0, 26.0)]);
                line(out, &[(18.0, 15.0), (30.0, 15.0)]);
            }
        }
    }
}

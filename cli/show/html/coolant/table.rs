//! The same as the drawing of the coolant, as a table.

use loadworthy_checks::figure_text::{value, with_digits};
use loadworthy_unit::Dimension;

use super::super::markup::Markup;
use super::super::table::region;
use super::Station;

/// What the coolant passes, row by row.
pub(crate) fn table(stations: &[Station<'_>], title: &str) -> Markup {
    let mut out = Markup::new();
    region(&mut out, &format!("{title}, as a table"), 0);
    out.raw("<table><caption>").text(title).raw("</caption>\n<thead><tr>");
    for head in ["Element", "Branch", "Flow", "In", "Out", "Heat", "Height in", "Height out"] {
        out.raw("<th scope=\"col\">").raw(head).raw("</th>");
    }
    out.raw(
        "<th scope=\"col\">Air</th><th scope=\"col\">Nearest to its temperature</th></tr></thead>\n<tbody>\n",
    );
    for station in stations {
        out.element("<tr><th scope=\"row\">", station.name, "</th><td>").text(&station.branch);
        let temperature =
            |kelvin: Option<f64>| kelvin.map(|kelvin| with_digits(kelvin, Dimension::Temperature, 4));
        let cells = [
            station.flow.map(|flow| value(flow, Dimension::VolumeFlow)),
            temperature(station.coolant_in),
            temperature(station.coolant_out),
            station.heat.map(|heat| value(heat, Dimension::Power)),
            station.heights[0].map(|height| value(height, Dimension::Length)),
            station.heights[1].map(|height| value(height, Dimension::Length)),
        ];
        for cell in cells {
            out.element("</td><td class=\"num\">", cell.as_deref().unwrap_or("not known"), "");
        }
        let air = match (station.traps.contains(&true), station.is_vented) {
            (true, _) => "gathers",
            (false, true) => "vented",
            (false, false) => "–",
        };
        out.raw("</td><td>").raw(air).raw("</td><td>");
        match &station.hottest {
            Some(used) => {
                let says = format!("{} {}, {}: {}", used.standing.mark(), used.carried, used.says, used.path);
                out.text(&says);
            }
            None => {
                out.raw("–");
            }
        }
        out.raw("</td></tr>\n");
    }
    out.raw("</tbody></table></div>\n");
    out
}

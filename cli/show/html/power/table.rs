//! The same as the drawing of the power, as a table.

use super::super::markup::Markup;
use super::super::table::region;
use super::super::used::Used;
use super::facts::Net;

/// Everything that is drawn, row by row.
pub(crate) fn table(net: &Net<'_>, title: &str) -> Markup {
    let mut out = Markup::new();
    region(&mut out, &format!("{title}, as a table"), 0);
    out.raw("<table><caption>").text(title).raw("</caption>\n<thead><tr><th scope=\"col\">Part</th>");
    out.raw("<th scope=\"col\">Kind</th><th scope=\"col\">Between</th><th scope=\"col\">Carries</th>");
    out.raw("<th scope=\"col\">Worst here</th></tr></thead>\n<tbody>\n");
    for bar in &net.bars {
        row(&mut out, bar.name, "bus", "", &bar.voltage, bar.used.as_ref());
    }
    for item in &net.items {
        let name = |bus: Option<usize>| bus.map(|bus| net.bars[bus].name);
        let between: Vec<&str> = name(item.left).into_iter().chain(name(item.right)).collect();
        let between = between.join(" – ");
        for (place, (_, element)) in item.boxes.iter().enumerate() {
            let into = item.wires.get(place).map_or("", |wire| wire.says.as_str());
            let onward = item.wires.get(place + 1).map_or("", |wire| wire.says.as_str());
            let mut carries: Vec<&str> = vec![into];
            carries.extend((onward != into).then_some(onward));
            carries.extend([element.what.as_str(), element.figures.as_str()]);
            carries.retain(|text| !text.is_empty());
            row(
                &mut out,
                element.name,
                element.symbol.word(),
                &between,
                &carries.join("; "),
                element.used.as_ref(),
            );
            for one in &element.conductors {
                row(&mut out, one.name, "conductor", one.branch, &one.current, one.used.as_ref());
            }
        }
    }
    out.raw("</tbody></table></div>\n");
    out
}

fn row(out: &mut Markup, name: &str, kind: &'static str, between: &str, carries: &str, used: Option<&Used>) {
    out.element("<tr><th scope=\"row\">", name, "</th><td>").raw(kind).raw("</td><td>").text(between);
    out.element("</td><td>", carries, "</td><td>");
    match used {
        Some(used) => {
            out.text(&used.short()).raw(" <span class=\"aside\">").text(&used.what()).raw("</span>");
            for number in &used.numbers {
                out.raw(" <span class=\"no\">").count(number.0).raw("</span>");
            }
        }
        None => {
            out.raw("nothing compared");
        }
    }
    out.raw("</td></tr>\n");
}

//! Tables whose rows become blocks where a page is narrow: every cell then says what it is.

use super::markup::Markup;

/// The heads of a table, up to where its rows begin.
pub(crate) fn head(out: &mut Markup, names: &[&'static str]) {
    out.raw("<thead role=\"rowgroup\"><tr role=\"row\">");
    for name in names {
        out.raw("<th scope=\"col\" role=\"columnheader\">").raw(name).raw("</th>");
    }
    out.raw("</tr></thead>\n<tbody role=\"rowgroup\">\n");
}

/// A cell with a text.
pub(crate) fn cell(out: &mut Markup, name: &'static str, said: &str) {
    let mut own = Markup::new();
    own.text(said);
    filled(out, name, &own);
}

/// A cell with anything in it.
pub(crate) fn filled(out: &mut Markup, name: &'static str, inner: &Markup) {
    out.raw("<td role=\"cell\" data-l=\"").raw(name).raw("\"><span>").join(inner).raw("</span></td>");
}

/// Opens a region that may be scrolled, by keyboard as well; its name is its own on the page.
pub(crate) fn region(out: &mut Markup, name: &str, sheet: usize) {
    out.raw("<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"");
    out.text(&on_sheet(name, sheet)).raw("\">");
}

/// What something is called on a sheet; behind the first one the name says on which.
pub(crate) fn on_sheet(name: &str, sheet: usize) -> String {
    if sheet == 0 { name.to_owned() } else { format!("{name}, sheet {}", sheet + 1) }
}

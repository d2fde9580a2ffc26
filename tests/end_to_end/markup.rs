//! A reader of pages that is stricter than a browser: everything that is opened is closed, in its order.

/// An element as it is opened.
#[derive(Clone, Debug)]
pub(super) struct Element {
    pub(super) name: String,
    attributes: Vec<(String, String)>,
}

impl Element {
    pub(super) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(own, _)| own == name).map(|(_, value)| value.as_str())
    }

    /// The level of a heading.
    pub(super) fn heading(&self) -> Option<usize> {
        self.name.strip_prefix('h')?.parse().ok()
    }
}

/// What a page is made of, piece by piece.
enum Piece<'p> {
    Open(Element, bool),
    Close(&'p str),
    Text(&'p str),
}

const VOID: &[&str] = &["meta", "br", "wbr", "input"];

/// All elements in their order.
///
/// # Errors
/// Says what is not markup, or does not nest.
pub(super) fn read(page: &str) -> Result<Vec<Element>, String> {
    let body = page.strip_prefix("<!doctype html>\n").ok_or("it does not begin as a page")?;
    let (mut open, mut elements) = (Vec::new(), Vec::new());
    for piece in pieces(body)? {
        match piece {
            Piece::Open(element, is_closed) => {
                if !is_closed && !VOID.contains(&element.name.as_str()) {
                    open.push(element.name.clone());
                }
                elements.push(element);
            }
            Piece::Close(name) => match open.pop() {
                Some(own) if own == name => {}
                other => return Err(format!("</{name}> closes {other:?}")),
            },
            Piece::Text(text) => {
                let rest = text.split('&').skip(1).find(|rest| {
                    !["amp;", "lt;", "gt;", "quot;", "#39;"].iter().any(|name| rest.starts_with(name))
                });
                if let Some(rest) = rest.or_else(|| text.contains('>').then_some(text)) {
                    return Err(format!(
                        "a character that is not escaped: {}",
                        rest.chars().take(60).collect::<String>()
                    ));
                }
            }
        }
    }
    if open.is_empty() { Ok(elements) } else { Err(format!("never closed: {open:?}")) }
}

fn pieces(body: &str) -> Result<Vec<Piece<'_>>, String> {
    let mut pieces = Vec::new();
    let mut rest = body;
    while let Some(start) = rest.find('<') {
        pieces.push(Piece::Text(&rest[..start]));
        let end = rest[start..].find('>').ok_or("a mark that does not end")? + start;
        let inner = &rest[start + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = inner.strip_prefix('/') {
            pieces.push(Piece::Close(name));
            continue;
        }
        let element = element(inner.trim_end_matches('/'))?;
        let name = element.name.clone();
        pieces.push(Piece::Open(element, inner.ends_with('/')));
        // What stands in these is not markup.
        if name == "script" || name == "style" {
            let end = rest.find(&format!("</{name}>")).ok_or("it does not end")?;
            rest = &rest[end..];
        }
    }
    pieces.push(Piece::Text(rest));
    Ok(pieces)
}

fn element(inner: &str) -> Result<Element, String> {
    let (name, mut rest) = inner.split_once(' ').unwrap_or((inner, ""));
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric()) {
        return Err(format!("<{inner}> is no element"));
    }
    let mut attributes: Vec<(String, String)> = Vec::new();
    while !rest.trim().is_empty() {
        rest = rest.trim_start();
        let end = rest.find(['=', ' ']).unwrap_or(rest.len());
        let (key, behind) = rest.split_at(end);
        let value = match behind.strip_prefix("=\"") {
            Some(behind) => {
                let (value, after) =
                    behind.split_once('"').ok_or(format!("<{inner}>: a value that does not end"))?;
                rest = after;
                value
            }
            None => {
                rest = behind;
                ""
            }
        };
        if attributes.iter().any(|(own, _)| own == key) {
            return Err(format!("<{inner}>: {key} twice"));
        }
        attributes.push((key.to_owned(), value.to_owned()));
    }
    Ok(Element { name: name.to_owned(), attributes })
}

fn unescaped(text: &str) -> String {
    let names = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
    names.iter().fold(text.to_owned(), |text, (name, character)| text.replace(name, character))
}

/// What a reader of a page reads, drawings left out: a line for each block.
pub(super) fn text_of_page(page: &str) -> String {
    const INLINE: &[&str] = &["code", "span", "a", "strong", "b", "mark", "label", "br", "wbr", "i"];
    let body = page.split_once("<body>").map_or(page, |(_, body)| body);
    let (mut text, mut depth) = (String::new(), 0);
    for piece in pieces(body).unwrap_or_default() {
        match piece {
            Piece::Text(own) if depth == 0 => text.push_str(&unescaped(own).replace('\n', " ")),
            Piece::Text(_) => {}
            Piece::Open(element, is_closed) => {
                depth += usize::from(
                    !is_closed && (depth > 0 || element.name == "svg" || element.name == "script"),
                );
                let cell = ["td", "dd"].contains(&element.name.as_str());
                text.push_str(if cell {
                    "   "
                } else if INLINE.contains(&element.name.as_str()) {
                    ""
                } else {
                    "\n"
                });
            }
            Piece::Close(name) => {
                depth = depth.saturating_sub(1);
                text.push_str(if INLINE.contains(&name) || ["td", "th", "dt", "dd"].contains(&name) {
                    ""
                } else {
                    "\n"
                });
            }
        }
    }
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

/// A label of a drawing, as much room as it may take.
#[derive(Clone, Debug)]
pub(super) struct Label {
    pub(super) text: String,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

impl Label {
    pub(super) fn covers(&self, other: &Self) -> bool {
        let wide = self.right.min(other.right) - self.left.max(other.left);
        let tall = self.bottom.min(other.bottom) - self.top.max(other.top);
        wide > 1.0 && tall > 1.0
    }
}

/// The drawings of a page: title, size, labels.
pub(super) fn labels(page: &str) -> Vec<(String, (f64, f64), Vec<Label>)> {
    let mut drawings = Vec::new();
    for svg in page.split("<svg class=\"drawing").skip(1) {
        let svg = svg.split("</svg>").next().unwrap_or_default();
        let number = |text: &str, name: &str| -> f64 {
            let from = text.split_once(&format!(" {name}=\"")).map_or("", |(_, from)| from);
            from.split('"').next().and_then(|number| number.parse().ok()).unwrap_or(f64::NAN)
        };
        let view = svg.split_once("viewBox=\"0 0 ").map_or("", |(_, from)| from);
        let mut view = view.split('"').next().unwrap_or_default().split(' ').filter_map(|n| n.parse().ok());
        let size = (view.next().unwrap_or(f64::NAN), view.next().unwrap_or(f64::NAN));
        let title = svg.split_once("<title").and_then(|(_, from)| from.split_once('>')?.1.split('<').next());
        let mut labels = Vec::new();
        for text in svg.split("<text ").skip(1) {
            let (head, inner) =
                text.split("</text>").next().unwrap_or_default().split_once('>').unwrap_or_default();
            let shown = inner.rsplit("</title>").next().unwrap_or_default();
            let shown = unescaped(shown);
            let head = format!(" {head}");
            let letters = shown.chars().count() as f64;
            let tall = if head.contains("class=\"n") { 13.0 } else { 12.0 };
            let (x, y, wide) = (number(&head, "x"), number(&head, "y"), 0.603 * tall * letters);
            let left = if head.contains("\"middle\"") {
                x - 0.5 * wide
            } else if head.contains("\"end\"") {
                x - wide
            } else {
                x
            };
            labels.push(Label {
                text: shown,
                left,
                right: left + wide,
                top: y - 0.75 * tall,
                bottom: y + 0.2 * tall,
            });
        }
        drawings.push((title.unwrap_or_default().to_owned(), size, labels));
    }
    drawings
}

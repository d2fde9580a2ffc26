//! The page around what is shown: one file that asks for nothing else, and reads the same without its script.

use super::markup::Markup;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("table.js");
/// What a browser lets run: this script and no other. A test reckons it anew.
const SCRIPT_HASH: &str = "sha256-LdHiTZmnuGMMVntSqqUXUg5vtOUtTsVzL+GEzeJI/U8=";

/// A whole page; `rules` are what its choices add to the style.
pub(crate) fn page(title: &str, rules: &Markup, body: &Markup, foot: &Markup) -> String {
    let mut out = Markup::new();
    out.raw("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.raw("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; script-src '");
    out.raw(SCRIPT_HASH).raw("'; base-uri 'none'; form-action 'none'\">\n");
    out.raw("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    out.element("<title>", title, "</title>\n");
    out.raw("<style>\n").raw(STYLE).join(rules).raw("</style>\n</head>\n<body>\n");
    out.raw(
        "<svg class=\"hidden\" aria-hidden=\"true\"><defs><pattern id=\"hatch\" width=\"6\" height=\"6\" ",
    );
    out.raw("patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path class=\"hatching\" d=\"M1 0V6\"/>");
    out.raw("</pattern></defs></svg>\n<main>\n")
        .join(body)
        .raw("</main>\n<footer class=\"foot\">\n")
        .join(foot);
    out.raw("</footer>\n<script>").raw(SCRIPT).raw("</script>\n</body>\n</html>\n");
    out.into_text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use base64::Engine;
    use sha2::{Digest, Sha256};

    #[test]
    fn the_policy_names_the_script_that_stands_in_the_page() {
        let hash = base64::engine::general_purpose::STANDARD.encode(Sha256::digest(SCRIPT.as_bytes()));
        assert_eq!(SCRIPT_HASH, format!("sha256-{hash}"));
    }

    #[test]
    fn style_and_script_cannot_end_their_element_early() {
        for text in [STYLE, SCRIPT] {
            assert!(!text.contains("</") && !text.contains("<!--"));
        }
    }

    #[test]
    fn nothing_is_fetched() {
        for word in ["http:", "https:", "//", "@import", "fetch(", "XMLHttpRequest", "import("] {
            assert!(!STYLE.contains(word) && !SCRIPT.contains(word), "{word}");
        }
    }
}

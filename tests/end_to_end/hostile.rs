//! Names and numbers that attack whoever reads the output.

use super::program::{Folder, Ran, run_in, template};

/// Texts as they stand between double quotes in a description.
const NAMES: &[&str] = &[
    "\\e[31mred\\e[0m",
    "\\e]8;;http://x.invalid\\aclick\\e]8;;\\a",
    "\\x9b31mred",
    "a\\a\\b\\b\\bhidden",
    "ok\\rproblem  none",
    "a\\n0 problems   forged line",
    "a\\0b\\x7f",
    "\\u202egnp.exe\\u2066x\\u2069",
    "a\\u200bb\\u2028c\\ufeffd\\U000E0041",
    "::error file=x::forged%0A",
    "##vso[task.setvariable variable=a]b",
    "](http://x.invalid) **b** | `c` <details>",
    "%s%n {} {0} ${HOME} $(id) `id`",
    "'\\\"`´\\\\\\\\",
    "",
    "   ",
];

fn runs(folder: &Folder) -> Vec<(&'static str, Ran)> {
    let figure = "track_bridge.modulation_index";
    folder.put("plain.yaml", template("plain", "60"));
    vec![
        ("terminal", run_in(folder, &["review", "unit.yaml"])),
        ("all", run_in(folder, &["review", "unit.yaml", "--all"])),
        ("json", run_in(folder, &["review", "unit.yaml", "--format", "json"])),
        ("markdown", run_in(folder, &["review", "unit.yaml", "--format", "markdown"])),
        ("json", run_in(folder, &["review", "unit.yaml", "--format", "sarif"])),
        ("html", run_in(folder, &["review", "unit.yaml", "--format", "html"])),
        ("quiet", run_in(folder, &["review", "unit.yaml", "--quiet"])),
        ("tree", run_in(folder, &["derive", "unit.yaml", figure])),
        ("stress", run_in(folder, &["stress", "unit.yaml", "--all"])),
        ("json", run_in(folder, &["stress", "unit.yaml", "--format", "json"])),
        ("stress csv", run_in(folder, &["stress", "unit.yaml", "--format", "csv"])),
        ("balance", run_in(folder, &["balance", "unit.yaml"])),
        ("json", run_in(folder, &["balance", "unit.yaml", "--format", "json"])),
        ("balance csv", run_in(folder, &["balance", "unit.yaml", "--format", "csv"])),
        ("csv", run_in(folder, &["derive", "unit.yaml", "--format", "csv"])),
        ("compare", run_in(folder, &["compare", "plain.yaml", "unit.yaml", "--all"])),
        ("compare", run_in(folder, &["compare", "unit.yaml", "plain.yaml"])),
        ("markdown", run_in(folder, &["compare", "plain.yaml", "unit.yaml", "--format=markdown"])),
        ("html", run_in(folder, &["compare", "plain.yaml", "unit.yaml", "--format=html"])),
        ("json", run_in(folder, &["compare", "plain.yaml", "unit.yaml", "--format", "json"])),
    ]
}

fn assert_harmless(what: &str, form: &str, ran: &Ran) {
    let text = format!("{}{}", ran.out, ran.err);
    assert!(matches!(ran.code, Some(0..=3)), "{what} {form}: {:?}", ran.code);
    let hidden = text.lines().find(|line| loadworthy_source::escape_text(line) != *line);
    assert!(hidden.is_none(), "{what} {form}: {hidden:?}");
    let longest = text.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    // A JSON string is not broken, however long it is.
    assert!(longest <= 4000 || form == "json", "{what} {form}: a line of {longest}");
    assert!(text.len() < 4 << 20, "{what} {form}: {} bytes", text.len());
    for begin in ["::error", "##vso", "forged", "0 problems"] {
        assert!(
            !text.lines().any(|line| line.starts_with(begin)),
            "{what} {form}: a line begins with {begin}"
        );
    }
    if form == "json" {
        serde_json::from_str::<serde_json::Value>(&ran.out).unwrap_or_else(|why| panic!("{what}: {why}"));
    }
}

#[test]
fn names_stay_text() {
    let folder = Folder::new();
    let long = "n".repeat(100_000);
    let marks = "e".to_owned() + &"\\u0301".repeat(1000);
    for name in NAMES.iter().copied().chain([long.as_str(), marks.as_str()]) {
        folder.put("unit.yaml", template(name, "60"));
        for (form, ran) in runs(&folder) {
            let what = name.chars().take(40).collect::<String>();
            assert_harmless(&what, form, &ran);
        }
    }
}

#[test]
fn json_gives_a_name_back_as_it_stands() {
    let folder = Folder::new();
    folder.put("unit.yaml", template("a\\e[31m\\u202eµ\\n", "60"));
    let ran = run_in(&folder, &["review", "unit.yaml", "--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(value["reviews"][0]["unit"]["name"], "a\u{1b}[31m\u{202e}µ\n");
}

#[test]
fn numbers_are_read_or_refused() {
    let folder = Folder::new();
    let digits = "9".repeat(400);
    for number in [
        digits.as_str(),
        "1e999",
        "1e-999",
        ".nan",
        ".inf",
        "-0.0",
        "0x10",
        "1_000",
        "1e-6",
        "5,0",
        "５．０",
        "",
        "~",
        "-400",
    ] {
        folder.put("unit.yaml", template("x", number));
        for (form, ran) in runs(&folder) {
            assert_harmless(number, form, &ran);
        }
    }
}

#[test]
fn identifiers_with_hidden_characters_are_refused_visibly() {
    let folder = Folder::new();
    // The second one is near to a name that is looked for, and so is proposed in its place.
    for (name, hidden) in
        [("track_bridge:", "\"track\\u202e_bridge\":"), ("  link: {", "  \"link\\ufeff\": {")]
    {
        folder.put("unit.yaml", template("x", "60").replacen(name, hidden, 1));
        for (form, ran) in runs(&folder) {
            assert_eq!(ran.code, Some(2), "{form}");
            assert_harmless(hidden, form, &ran);
        }
    }
}

#[test]
fn a_long_line_is_shown_around_what_is_marked() {
    let folder = Folder::new();
    let filler = (0..3000).map(|number| format!("k{number}: 1, ")).collect::<String>();
    folder.put("unit.yaml", template("x", "60") + &format!("surroundings: {{ {filler}altitude: 5 kg }}\n"));
    let ran = run_in(&folder, &["review", "unit.yaml", "--all"]);
    assert_eq!(ran.code, Some(2));
    let longest = ran.out.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    assert!(longest <= 120, "{longest}");
    assert!(ran.out.contains("… k0: 1,") || ran.out.contains("{ k0: 1,"), "{}", &ran.out[..2000]);
}

#[test]
fn many_problems_are_counted_and_few_are_shown() {
    let folder = Folder::new();
    let keys = (0..5000).map(|number| format!("key_{number}: 1\n")).collect::<String>();
    folder.put("unit.yaml", keys);
    let ran = run_in(&folder, &["review", "unit.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("more than 200 problems"), "{}", ran.out);
    assert!(ran.out.lines().count() < 120, "{} lines", ran.out.lines().count());
}

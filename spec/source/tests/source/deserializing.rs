//! Typed values from a tree, and problems that know their place.

use std::borrow::Cow;

use indexmap::IndexMap;
use loadworthy_source::{Located, LocatedText, Problem};
use schemars::JsonSchema;
use serde::Deserialize;

use super::{marked, tree};

#[derive(Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
struct Plate {
    name: String,
    faces: Option<u8>,
    ratio: Option<f64>,
    wet: Option<bool>,
    pair: Option<(i64, String)>,
    words: Option<Vec<Cool>>,
}

#[derive(Debug, Deserialize, PartialEq)]
#[serde(rename_all = "snake_case")]
enum Cool {
    Water,
    OilMist,
}

#[derive(Debug, Deserialize, PartialEq)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
enum Part {
    Bar(Bar),
    LaminatedBar { gap: f64 },
    Hole,
}

#[derive(Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
struct Bar {
    width: f64,
}

fn read<T: for<'de> Deserialize<'de>>(text: &str) -> Result<T, (String, String, Option<String>)> {
    let (tree, root) = tree(text);
    tree.deserialize(root).map_err(|problem: Problem| {
        (marked(&tree, &problem).to_owned(), problem.message.clone(), problem.way_out.clone())
    })
}

#[track_caller]
fn refused<T: for<'de> Deserialize<'de> + std::fmt::Debug>(
    text: &str,
    mark: &str,
    message: &str,
) -> Option<String> {
    let (found_mark, found, way_out) = read::<T>(text).expect_err("refused");
    assert_eq!((found_mark.as_str(), found.as_str()), (mark, message));
    way_out
}

#[test]
fn plain_types_are_read() {
    let plate: Plate =
        read("name: lower\nfaces: 2\nratio: 1\nwet: true\npair: [-3, b]\nwords: [water, oil_mist]")
            .expect("a plate");
    assert_eq!(
        plate,
        Plate {
            name: "lower".to_owned(),
            faces: Some(2),
            ratio: Some(1.0),
            wet: Some(true),
            pair: Some((-3, "b".to_owned())),
            words: Some(vec![Cool::Water, Cool::OilMist]),
        }
    );
    let bare: Plate = read("name: '7'").expect("a plate");
    assert_eq!((bare.name.as_str(), bare.faces), ("7", None));
    let empty: Plate = read("name: x\nfaces:\nratio: ~").expect("null is no value");
    assert_eq!((empty.faces, empty.ratio), (None, None));
    let rounded: Plate = read("name: x\nfaces: 2.0").expect("2.0 is a whole number");
    assert_eq!(rounded.faces, Some(2));
}

#[test]
fn a_problem_marks_the_value_that_it_is_about() {
    refused::<Plate>("name: x\nfaces: two", "two", "expected a whole number, found the text `two`");
    refused::<Plate>("name: x\nfaces: 1.5", "1.5", "expected a whole number, found the number `1.5`");
    refused::<Plate>("name: x\nfaces: 300", "300", "expected u8, found the number `300`");
    refused::<Plate>("name: x\nfaces: -1", "-1", "expected u8, found the number `-1`");
    refused::<Plate>("name: x\nratio: .inf", ".inf", "expected a finite number, found the number `.inf`");
    refused::<Plate>("name: x\nratio: 1e999", "1e999", "expected a finite number, found the number `1e999`");
    refused::<Plate>("name: x\nwet: yes", "yes", "expected `true` or `false`, found the text `yes`");
    refused::<Plate>("name: [x]", "[x]", "expected a text, found a list");
    refused::<Plate>("name:", "", "expected a text, found nothing");
    refused::<Plate>("name: x\npair: [1]", "[1]", "expected a list of 2, found one of 1");
    refused::<Plate>("name: x\npair: [1, b, c]", "[1, b, c]", "expected a list of 2, found one of 3");
    refused::<Plate>("name: x\nwords: [water, ice]", "ice", "`ice` is not known here");
    refused::<Vec<u8>>("a: 1", "a: 1", "expected a list, found a map");
    let way_out = refused::<Plate>("name: 5", "5", "expected a text, found the number `5`");
    assert_eq!(way_out.as_deref(), Some("write `\"5\"`"));
}

#[test]
fn keys_that_are_not_known_or_missing_are_problems() {
    let way_out = refused::<Plate>("name: x\nfases: 2", "fases", "the key `fases` is not known here");
    assert_eq!(way_out.as_deref(), Some("write `faces`"));
    let way_out = refused::<Plate>("faces: 2\nwet: true", "faces: 2\nwet: true", "the key `name` is missing");
    assert_eq!(way_out.as_deref(), Some("write `name:` with a value"));
    let way_out = refused::<Plate>("name: x\nwords: [wader]", "wader", "`wader` is not known here");
    assert_eq!(way_out.as_deref(), Some("write `water`"));
}

#[test]
fn maps_keep_the_order_of_the_text() {
    let maps: IndexMap<String, IndexMap<String, u32>> =
        read("b: { z: 1, 5: 2 }\na: { true: 3 }").expect("maps");
    let keys: Vec<&str> = maps.keys().map(String::as_str).collect();
    assert_eq!(keys, ["b", "a"]);
    assert_eq!(maps["b"].keys().collect::<Vec<_>>(), ["z", "5"], "a key is text");
    assert_eq!(maps["a"]["true"], 3);
    refused::<IndexMap<String, u32>>("a: 1\nb: x", "x", "expected a whole number, found the text `x`");
}

#[test]
fn a_tag_key_chooses_the_variant() {
    assert_eq!(read::<Part>("kind: bar\nwidth: 2"), Ok(Part::Bar(Bar { width: 2.0 })));
    assert_eq!(read::<Part>("width: 2\nkind: bar"), Ok(Part::Bar(Bar { width: 2.0 })), "wherever it stands");
    assert_eq!(read::<Part>("kind: laminated_bar\ngap: 0.5"), Ok(Part::LaminatedBar { gap: 0.5 }));
    assert_eq!(read::<Part>("kind: hole"), Ok(Part::Hole));
    refused::<Part>("kind: hole\nwidth: 1", "width", "the key `width` is not known here");
    refused::<Part>("kind: bar", "kind: bar", "the key `width` is missing");
    refused::<Part>("kind: bar\nwidth: 1\ngap: 2", "gap", "the key `gap` is not known here");
    refused::<Part>("kind: [bar]", "[bar]", "expected a text, found a list");
    let way_out = refused::<Part>("kind: baar\nwidth: 1", "baar", "`baar` is not known here");
    assert_eq!(way_out.as_deref(), Some("write `bar`"));
    let way_out = refused::<Part>("width: 1", "width: 1", "the key `kind` is missing");
    assert_eq!(way_out.as_deref(), Some("write `kind:` with one of `bar`, `laminated_bar`, `hole`"));
    refused::<IndexMap<String, Part>>("a: bar", "bar", "expected a map, found the text `bar`");
}

#[test]
fn located_values_know_their_node() {
    #[derive(Deserialize)]
    struct Unit<'t> {
        #[serde(borrow)]
        name: Located<&'t str>,
        count: Located<Option<u32>>,
        part: Located<Part>,
        list: Located<Vec<Located<f64>>>,
        #[serde(borrow)]
        note: Cow<'t, str>,
        absent: Option<Located<u8>>,
    }
    let (tree, root) =
        tree("name: a\ncount: 3\npart: { kind: bar, width: 1 }\nlist: [1, 2.5]\nnote: \"x\\x79\"\n");
    let unit: Unit = tree.deserialize(root).expect("a unit");
    let text = |at| tree.text_of(tree.span(at));
    assert_eq!((*unit.name, text(unit.name.at)), ("a", "a"));
    assert_eq!((*unit.count, text(unit.count.at)), (Some(3), "3"));
    assert_eq!(
        (&*unit.part, text(unit.part.at)),
        (&Part::Bar(Bar { width: 1.0 }), "{ kind: bar, width: 1 }")
    );
    assert_eq!(text(unit.list.at), "[1, 2.5]");
    let items: Vec<_> = unit.list.iter().map(|item| (item.value, text(item.at))).collect();
    assert_eq!(items, [(1.0, "1"), (2.5, "2.5")]);
    assert_eq!(unit.note, "xy");
    assert!(unit.absent.is_none());
    assert_eq!(unit.name.map(str::len).value, 1);
}

#[test]
fn keys_may_be_located() {
    #[derive(Debug, Deserialize, PartialEq, Eq, Hash)]
    struct Name(Located<String>);
    let (tree, root) = tree("b: 1\n'5': 2\n");
    let map: IndexMap<Name, u8> = tree.deserialize(root).expect("a map");
    let keys: Vec<_> =
        map.keys().map(|name| (name.0.value.as_str(), tree.text_of(tree.span(name.0.at)))).collect();
    assert_eq!(keys, [("b", "b"), ("5", "'5'")]);
}

#[test]
fn text_is_kept_as_written_for_who_parses_it() {
    /// A newtype that parses its own text, as another crate would write it.
    #[derive(Debug)]
    struct Ratio(f64);

    impl<'de> Deserialize<'de> for Ratio {
        fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
            let written = LocatedText::deserialize(deserializer)?;
            match written.text.strip_suffix('%').map(str::trim) {
                Some(percent) => percent.parse().map(|percent: f64| Self(percent / 100.0)),
                None => written.text.parse().map(Self),
            }
            .map_err(|_| serde::de::Error::custom(format!("expected a ratio, found `{}`", written.text)))
        }
    }

    let (tree_of, root) = tree("a: 0.80\nb: '5'\nc: true");
    let texts: IndexMap<String, LocatedText> = tree_of.deserialize(root).expect("texts");
    let written: Vec<_> = texts.values().map(|text| (text.text, text.plain)).collect();
    assert_eq!(written, [("0.80", true), ("5", false), ("true", true)]);
    assert_eq!(tree_of.text_of(tree_of.span(texts["b"].at)), "'5'");

    let refusal = tree_of.deserialize::<IndexMap<String, Ratio>>(root).expect_err("`true` is no ratio");
    assert_eq!(
        (marked(&tree_of, &refusal), refusal.message.as_str()),
        ("true", "expected a ratio, found `true`")
    );
    let ratio: IndexMap<String, Ratio> = read("a: 80 %").expect("a ratio");
    assert!((ratio["a"].0 - 0.8).abs() < 1e-12);
    refused::<IndexMap<String, Ratio>>("a: [1]", "[1]", "expected a value, found a list");
    refused::<IndexMap<String, Ratio>>("a: ~", "~", "expected a value, found `~`, which is nothing");
}

#[test]
fn aliases_are_read_like_their_targets() {
    let parts: IndexMap<String, Part> = read("a: &x { kind: bar, width: 1 }\nb: *x").expect("parts");
    assert_eq!(parts["a"], parts["b"]);
    let (tree, root) = tree("a: &x { kind: bar, width: y }\nb: *x");
    let only_b = tree.entries(root)[1].value;
    let problem = tree.deserialize::<Part>(only_b).expect_err("refused");
    assert_eq!(marked(&tree, &problem), "y", "the value is marked where it is written");
}

#[test]
fn a_located_value_has_the_schema_of_its_value() {
    #[derive(JsonSchema)]
    #[expect(dead_code, reason = "only its schema is looked at")]
    struct With {
        /// How many.
        count: Option<Located<u8>>,
    }
    #[derive(JsonSchema)]
    #[expect(dead_code, reason = "only its schema is looked at")]
    struct Without {
        /// How many.
        count: Option<u8>,
    }
    let properties = |schema: schemars::Schema| schema.get("properties").cloned();
    assert_eq!(properties(schemars::schema_for!(With)), properties(schemars::schema_for!(Without)));
}

#[test]
fn only_a_tree_gives_located_values() {
    assert!(serde_json::from_str::<Located<u8>>("5").is_err());
    assert!(serde_json::from_str::<LocatedText>("\"5\"").is_err());
}

#[test]
fn anything_is_read_as_what_it_means() {
    let value: serde_json::Value =
        read("a: [1, -2.5, true, on, ~, '1', 0x10, 99999999999999999999]\nb: { c: }").expect("a value");
    assert_eq!(
        value,
        serde_json::json!({ "a": [1, -2.5, true, "on", null, "1", 16, 1e20], "b": { "c": null } })
    );
}

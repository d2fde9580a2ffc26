//! Words that were clearly meant for others: which are taken so, and which are not.

use loadworthy_language::Reading;
use loadworthy_language::sections::sources::Source;

use crate::workshop::{FORWARDER, WHOLE, reading};

/// The texts that are taken to be meant, in the order of their problems.
fn taken(reading: &Reading) -> Vec<&str> {
    let meant = reading.problems.iter().filter_map(|problem| problem.meant.as_ref());
    meant.filter(|meant| meant.is_taken).map(|meant| meant.text.as_str()).collect()
}

fn of(text: &str) -> Vec<String> {
    taken(&reading(&format!("edition: 2026\n{text}"))).into_iter().map(str::to_owned).collect()
}

#[test]
fn words_keys_names_and_numbers_that_can_be_nothing_else() {
    let pack = "open_circuit: { lowest: 300 V, highest: 400 V }, internal_resistance: { highest: 9 mohm }";
    assert_eq!(of(&format!("sources: {{ pack: {{ kind: batery, {pack} }} }}")), ["battery"]);
    assert_eq!(of(&format!("sources: {{ pack: {{ knid: battery, {pack} }} }}")), ["kind"]);
    assert_eq!(of(&format!("soruces: {{ pack: {{ kind: battery, {pack} }} }}")), ["sources"]);
    let misspelt = pack.replace("open_circuit", "open_cricuit");
    assert_eq!(of(&format!("sources: {{ pack: {{ kind: battery, {misspelt} }} }}")), ["open_circuit"]);
    let comma = pack.replace("9 mohm", "'9,5 mohm'");
    assert_eq!(of(&format!("sources: {{ pack: {{ kind: battery, {comma} }} }}")), ["9.5 mohm"]);
    let buses = "buses: { main_bus: { nominal: 350 V, highest: 450 V } }";
    let bus = format!("sources: {{ pack: {{ kind: battery, bus: mian_bus, {pack} }} }}\n{buses}");
    assert_eq!(of(&bus), ["main_bus"]);
}

#[test]
fn what_may_have_been_another_is_not_taken() {
    let text = "conductors: { a: { kind: bar } }";
    assert_eq!(of(text), [""; 0]);
    let buses = "buses: { bus_1: { nominal: 350 V, highest: 450 V } }";
    assert_eq!(of(&format!("sources: {{ pack: {{ kind: battery, bus: bus_2 }} }}\n{buses}")), [""; 0]);
    // A bare number says no unit.
    assert_eq!(of("buses: { main_bus: { nominal: 350, highest: 450 V } }"), [""; 0]);
    // The key that was meant is there.
    assert_eq!(of("buses: { main_bus: { nominal: 350 V, nominl: 360 V, highest: 450 V } }"), [""; 0]);
}

/// A word that brings another problem was not meant, and takes none of the others with it.
#[test]
fn a_word_that_brings_a_problem_is_left() {
    let text = "
buses: { main_bus: { nominal: 350 V, highest: 450 V }, tool_bus: { nominl: 24 V, highest: 32 V } }
sources: { pack: { kind: battery } }
conductors: { fuse_of_pack: { kind: fuse }, bar_of_pack: { kind: busbar } }
branches:
  feed: { from: pack, to: main_bus, through: [fuse_of_pack, bar_of_pack] }
  other: { from: pack, to: tool_bus, through: [fuse_of_pakc] }";
    assert_eq!(of(text), ["nominal"]);
}

/// What is read as it is written stays as it was, and what is meant stands beside it, in every variant.
#[test]
fn what_is_meant_stands_beside_what_is_written() {
    let text = FORWARDER.replacen("kind: battery", "kind: batery", 1);
    assert_ne!(text, FORWARDER);
    let reading = reading(&text);
    let meant = reading.meant.as_ref().expect("a word that was meant");
    let [problem] = reading.problems.as_slice() else { panic!("{:#?}", reading.problems) };
    assert_eq!(meant.places, [problem.at]);
    assert_eq!(problem.way_out.as_deref(), Some("write `battery`; the rest is judged as if it stood here"));
    assert_eq!(meant.variants.len(), reading.variants.len());
    for (written, meant) in reading.variants.iter().zip(&meant.variants) {
        assert_eq!(written.name, meant.name);
        let batteries = |of: &loadworthy_language::VariantReading| {
            of.description.sources.readable().filter(|(.., one)| matches!(one, Source::Battery(_))).count()
        };
        assert_eq!(batteries(written) + 1, batteries(meant));
    }
}

/// Words of every section of a whole unit, one at a time: what is taken ends its problem, and the reading is that of the whole unit.
#[test]
fn each_slip_that_is_taken_reads_as_the_whole() {
    let mut taken_words = 0;
    for (place, word) in WHOLE.match_indices(|c: char| c.is_ascii_lowercase()).filter_map(|(place, _)| {
        let word = |c: char| c.is_ascii_alphanumeric() || c == '_';
        let end = WHOLE[place..].find(|c: char| !word(c))? + place;
        let begins = !WHOLE[..place].ends_with(|c: char| c.is_ascii_alphanumeric() || c == '_');
        (begins && end - place >= 6).then_some((place, &WHOLE[place..end]))
    }) {
        let slip = format!("{}{}", &WHOLE[..place + 3], &WHOLE[place + 4..]);
        let reading = reading(&slip);
        let taken = taken(&reading);
        if let [only] = taken.as_slice() {
            taken_words += 1;
            // An entry whose own name is misspelt is what others are taken to mean.
            let own = format!("{}{}", &word[..3], &word[4..]);
            assert!(only.ends_with(word) || *only == own, "{word}: {only}");
            let meant = reading.meant.as_ref().expect("a reading");
            let unread = |of: &loadworthy_language::Description| {
                of.stages.unread().count() + of.conductors.unread().count() + of.branches.unread().count()
            };
            assert!(meant.variants.iter().all(|one| unread(&one.description) == 0), "{word}");
        }
    }
    assert!(taken_words > 100, "{taken_words}");
}

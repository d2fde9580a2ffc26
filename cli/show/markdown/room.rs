//! A comment has only so much room. What does not fit is left out by whole blocks, and how much that is, is said.

/// Bytes of a comment. Hosts count characters, of which there are never more.
const ROOM: usize = 59_000;

/// Blocks of one kind under a heading.
#[derive(Debug, Default)]
pub(super) struct Section {
    /// What stands before its first block; of a table its head.
    pub(super) head: String,
    pub(super) blocks: Vec<String>,
    /// How many there are beside these.
    pub(super) beyond: usize,
    /// Of sections with equal room the lower rank comes first.
    pub(super) rank: u8,
    /// What a block is called, as one and as several.
    pub(super) more: (&'static str, &'static str),
    /// The command that shows everything, as a code span.
    pub(super) command: String,
    /// The place of the section without which this one is not shown.
    pub(super) under: Option<usize>,
}

impl Section {
    /// Bytes that it takes beside its blocks.
    fn frame(&self) -> usize {
        self.head.len() + self.note(self.blocks.len() + self.beyond).len() + 1
    }

    /// What is said of blocks that are left out.
    fn note(&self, left_out: usize) -> String {
        let noun = if left_out == 1 { self.more.0 } else { self.more.1 };
        let command = if self.command.is_empty() { String::new() } else { format!(": {}", self.command) };
        format!("\n+{left_out} more {noun}{command}\n")
    }
}

/// A text of at most so many bytes: what stands first, as many blocks of the sections as fit, and what stands last.
pub(super) fn fitted(first: &str, sections: Vec<Section>, last: &str) -> String {
    let silent = |number: usize| {
        let noun = if number == 1 { "part" } else { "parts" };
        format!("+{number} more {noun}, for which there is no room here\n\n")
    };
    let mut room = ROOM.saturating_sub(first.len() + last.len() + silent(usize::MAX).len());
    let mut kept = vec![0; sections.len()];
    let mut order = (0..sections.len()).collect::<Vec<_>>();
    order.sort_by_key(|&place| (sections[place].rank, place));
    // First nobody takes more than half of what is left, so that a long table leaves room for what comes after it.
    for share in [2, 1] {
        for &place in &order {
            let section = &sections[place];
            if section.under.is_some_and(|under| kept.get(under).is_none_or(|&kept| kept == 0)) {
                continue;
            }
            let mut own = room / share;
            for block in section.blocks.iter().skip(kept[place]) {
                let frame = if kept[place] == 0 { section.frame() } else { 0 };
                let size = frame + block.len();
                if own < size {
                    break;
                }
                own -= size;
                room -= size;
                kept[place] += 1;
            }
        }
    }
    let mut text = first.to_owned();
    let mut untold = 0;
    for (section, kept) in sections.iter().zip(kept) {
        let left_out = section.blocks.len() - kept + section.beyond;
        if kept == 0 {
            untold += left_out;
            continue;
        }
        text.push_str(&section.head);
        text.extend(section.blocks.iter().take(kept).map(String::as_str));
        if left_out > 0 {
            text.push_str(&section.note(left_out));
        }
        text.push('\n');
    }
    if untold > 0 {
        text.push_str(&silent(untold));
    }
    text.push_str(last);
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section(rank: u8, head: &str, block: &str, number: usize) -> Section {
        Section {
            head: head.to_owned(),
            blocks: vec![block.to_owned(); number],
            rank,
            more: ("row", "rows"),
            command: "`show`".to_owned(),
            ..Section::default()
        }
    }

    #[test]
    fn what_fits_is_shown_whole() {
        let text =
            fitted("first\n", vec![section(1, "a\n", "x\n", 2), section(0, "b\n", "y\n", 1)], "last\n");
        assert_eq!(text, "first\na\nx\nx\n\nb\ny\n\nlast\n");
    }

    #[test]
    fn what_does_not_fit_is_counted_and_never_cut() {
        let block = format!("{}\n", "x".repeat(1000));
        let text =
            fitted("", vec![section(1, "later\n", &block, 90), section(0, "sooner\n", &block, 10)], "last\n");
        assert!(text.len() <= ROOM && text.ends_with("last\n"));
        assert_eq!(text.matches(&block).count(), 58);
        assert!(text.contains("\n+42 more rows: `show`\n"));
        let sooner = text.split("sooner\n").nth(1).expect("it is shown");
        assert_eq!(sooner.matches(&block).count(), 10, "what matters more is whole");
    }

    #[test]
    fn a_long_table_leaves_room_for_what_comes_after_it() {
        let block = format!("{}\n", "x".repeat(1000));
        let text =
            fitted("", vec![section(0, "long\n", &block, 500), section(1, "after\n", &block, 20)], "last\n");
        let after = text.split("after\n").nth(1).expect("it is shown");
        assert_eq!((text.matches(&block).count(), after.matches(&block).count()), (58, 14));
    }

    #[test]
    fn what_belongs_to_something_left_out_is_left_out_too() {
        let mut child = section(2, "child\n", "x\n", 3);
        child.under = Some(0);
        let text = fitted("", vec![section(0, "parent\n", &"y".repeat(70_000), 1), child], "");
        assert_eq!(text, "+4 more parts, for which there is no room here\n\n");
    }
}

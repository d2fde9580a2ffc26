//! How large, deep and repetitive a description may be.

/// Bytes of one file: 16 MiB.
pub(crate) const LARGEST_FILE: usize = 16 << 20;
/// Bytes of all files of one tree: 256 MiB.
pub(crate) const LARGEST_TREE: usize = 256 << 20;
/// Maps and lists inside one another, each alias counted with what it stands for.
pub(crate) const DEEPEST: usize = 64;
/// Values, each alias counted with what it stands for. Keys are not counted.
pub(crate) const MOST_VALUES: u64 = 2_000_000;
/// Entries that joining and patching may write. A patch copies the entries of each map that it changes, so
/// many variants of a long description could otherwise take all memory.
pub(crate) const MOST_PATCHED: usize = 10_000_000;

/// The sentence for what is nested too deeply, whoever finds it first.
pub(crate) fn too_deep() -> String {
    format!("maps and lists are nested more than {DEEPEST} levels deep, aliases included")
}

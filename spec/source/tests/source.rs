//! Reading, joining, patching and deserializing, as other crates use them.

mod source {
    mod deserializing;
    mod hostile;
    mod joining;
    mod limits;
    mod overlaying;
    mod patching;
    mod random_trees;
    mod reading;
    mod spans;
    mod structural;

    use loadworthy_source::{NodeId, Problem, Tree};

    /// A tree with one file that has no problems.
    fn tree(text: &str) -> (Tree, NodeId) {
        let mut tree = Tree::new();
        let mut problems = Vec::new();
        let root = tree.read("unit.yaml", text.as_bytes(), &mut problems);
        assert_eq!(problems, [], "{text:?}");
        (tree, root.expect("a root"))
    }

    /// The problems of one file, and whether it has a root all the same.
    fn problems(text: &[u8]) -> (Tree, Option<NodeId>, Vec<Problem>) {
        let mut tree = Tree::new();
        let mut problems = Vec::new();
        let root = tree.read("unit.yaml", text, &mut problems);
        (tree, root, problems)
    }

    fn marked<'t>(tree: &'t Tree, problem: &Problem) -> &'t str {
        tree.text_of(problem.at)
    }
}

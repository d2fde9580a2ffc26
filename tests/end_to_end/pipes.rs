//! Readers that go away and disks that are full.

use std::process::Stdio;

use super::program::{Ran, program};

const HARVESTER: &str = "examples/peat-harvester.yaml";

#[test]
fn a_reader_that_goes_away_is_not_an_error() {
    for format in ["terminal", "json"] {
        let mut child = program()
            .args(["review", HARVESTER, "--format", format])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        drop(child.stdout.take());
        let ran: Ran = child.wait_with_output().expect("ends").into();
        assert_eq!((ran.code, ran.err.as_str()), (Some(1), ""), "{format}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let full = || std::fs::OpenOptions::new().write(true).open("/dev/full").expect("/dev/full");
    for arguments in
        [&["review", HARVESTER][..], &["derive", HARVESTER], &["checks"], &["schema"], &["--help"]]
    {
        let ran: Ran = program().args(arguments).stdout(full()).output().expect("starts").into();
        assert_eq!(ran.code, Some(2), "{arguments:?}");
        assert_eq!(ran.err, "loadworthy: the result could not be written: no space is left\n");
    }
    // Where nothing can be told, the code still says it.
    let both = program().args(["review", HARVESTER]).stdout(full()).stderr(full()).status().expect("starts");
    assert_eq!(both.code(), Some(2));
}

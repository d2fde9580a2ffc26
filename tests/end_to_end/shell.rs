//! What a shell and a reader of manuals get.

use std::io::Write;
use std::process::{Command, Stdio};

use super::program::run;

/// Every command and every long option, from what the program says of itself.
fn options() -> Vec<(String, Vec<String>)> {
    let list = run(&["--help"]).out;
    let (_, commands) = list.split_once("Commands:\n").expect("the commands");
    let (commands, _) = commands.split_once("\n\nOptions").expect("their end");
    // Names stand two columns in; what continues a text stands further.
    let names = commands.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names =
        names.filter_map(|line| line.split_whitespace().next()).map(str::to_owned).collect::<Vec<_>>();
    assert!(names.contains(&"review".to_owned()) && names.len() > 12, "{names:?}");
    let options = |name: &String| {
        let help = run(&[name, "--help"]).out;
        let long = help.lines().map(str::trim_start).filter(|line| line.starts_with('-'));
        let long = long.filter_map(|line| line.split([' ', '[', '=']).find(|word| word.starts_with("--")));
        let is_name = |option: &&str| option.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-');
        (name.clone(), long.filter(is_name).map(str::to_owned).collect())
    };
    names.iter().map(options).collect()
}

#[test]
fn every_shell_gets_a_script_with_every_option() {
    let options = options();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = run(&["completions", shell]);
        assert_eq!((script.code, script.err.as_str()), (Some(0), ""), "{shell}");
        for (command, long) in &options {
            assert!(script.out.contains(command.as_str()), "{shell}: {command}");
            for option in long {
                // One of the shells writes options without their dashes.
                let bare = option.trim_start_matches('-');
                assert!(
                    script.out.contains(option.as_str()) || script.out.contains(bare),
                    "{shell}: {option}"
                );
            }
        }
    }
}

#[cfg(unix)]
#[test]
fn the_script_for_bash_is_one_and_completes() {
    let script = run(&["completions", "bash"]).out;
    let bash = |arguments: &[&str], input: &str| {
        let mut child = Command::new("bash")
            .args(["--norc", "--noprofile"])
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("bash starts");
        child.stdin.take().expect("its input").write_all(input.as_bytes()).expect("it reads");
        let ended = child.wait_with_output().expect("it ends");
        (ended.status.success(), String::from_utf8(ended.stdout).expect("UTF-8"))
    };
    assert!(bash(&["-n"], &script).0, "its syntax");
    let asks = "\nCOMP_WORDS=(loadworthy review --gra); COMP_CWORD=2; COMP_LINE='loadworthy review --gra'\n\
                _loadworthy loadworthy --gra review; echo \"${COMPREPLY[@]}\"\n";
    assert_eq!(bash(&[], &(script + asks)), (true, "--grade\n".to_owned()));
}

#[test]
fn the_manual_has_every_command_and_option() {
    let manual = run(&["manual"]);
    assert_eq!((manual.code, manual.err.as_str()), (Some(0), ""));
    assert!(manual.out.contains(".TH loadworthy 1"), "{}", manual.out);
    // A dash that may be copied is escaped.
    let plain = manual.out.replace("\\-", "-").replace("\\fB", "").replace("\\fR", "");
    for (command, long) in options() {
        let heading = format!(".SH \"LOADWORTHY {}\"\n", command.to_uppercase());
        let (_, own) = plain.split_once(&heading).unwrap_or_else(|| panic!("{command} is missing"));
        let own = own.split("\n.SH \"").next().unwrap_or_default();
        for option in long {
            assert!(own.contains(&option), "{command} {option}");
        }
    }
}

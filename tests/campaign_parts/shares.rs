//! Shares on a shared folder: twice, cut off, without room.

use super::*;
use std::process::{Child, Stdio};

fn begin(folder: &Path, arguments: &[&str]) -> Child {
    let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin("twinplate"));
    command.current_dir(folder).args(["campaign", "plan.toml", "-q"]).args(arguments);
    command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

/// Two processes with the same share at the same time do its work twice and harm nothing.
#[test]
fn a_share_that_was_given_twice_is_counted_once() {
    let folder = folder_with(PLAN);
    let folder = folder.path();
    let share = |part: &'static str| begin(folder, &["-o", "parts", "--part", part, "--threads", "1"]);
    let mut all = [share("1/3"), share("2/3"), share("2/3"), share("3/3")];
    assert!(all.iter_mut().all(|child| child.wait().unwrap().success()));
    assert_eq!(campaign(folder, &["-o", "parts", "--collect"]), (String::new(), 0));
    assert_eq!(table(folder, "parts"), alone(folder));
    // all of it again in other shares: nothing is left to do, and no file begun
    let before = files(folder, "parts");
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "4/5"]), (String::new(), 0));
    assert_eq!(files(folder, "parts"), before);
}

/// Killed in the middle, as a node that fails: what is stored stays, what was cut off is done again.
#[test]
fn a_share_that_was_killed_goes_on() {
    // half a second or more for each diameter: slow enough to be met at work
    let folder = folder_with(&PLAN.replace("triangles = 400", "triangles = 20000"));
    let folder = folder.path();
    let mut child = begin(folder, &["-o", "parts", "--part", "1/1", "--threads", "1"]);
    while lines(folder, "parts") < 2 {
        assert!(child.try_wait().unwrap().is_none(), "it ended before a run was stored");
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
    child.kill().unwrap();
    assert!(!child.wait().unwrap().success());
    let stored = lines(folder, "parts") - 1;
    assert!((1..16).contains(&stored), "{stored} of 16 were stored before it was killed");
    // the disk may have held a part of a line more, cut within a character
    let path = files(folder, "parts").remove(0);
    let mut text = std::fs::read(&path).unwrap();
    text.extend(b"{\"run\":16,\"combined_sha256\":\"\xc2");
    std::fs::write(&path, text).unwrap();
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "1/1", "--threads", "1"]), (String::new(), 0));
    assert_eq!(campaign(folder, &["-o", "parts", "--collect"]), (String::new(), 0));
    assert_eq!(table(folder, "parts"), alone(folder));
    // two heads, the line that was cut off, which ends nowhere, and each run once
    assert_eq!((files(folder, "parts").len(), lines(folder, "parts")), (2, 2 + 16));
}

/// A limit to the size of files cuts a line as a full disk does: an error that says so, exit code 1, and what is stored stays.
#[cfg(unix)]
#[test]
fn without_room_a_share_stops_and_goes_on_later() {
    let folder = folder_with(PLAN);
    let folder = folder.path();
    let program = assert_cmd::cargo::cargo_bin("twinplate");
    // blocks of 512 or 1024 bytes; a run takes some 1700
    let limited = "trap '' XFSZ; ulimit -f 10; exec \"$@\"";
    let mut shell = std::process::Command::new("sh");
    shell.current_dir(folder).args(["-c", limited, "sh"]).arg(program);
    let output = shell.args(["campaign", "plan.toml", "-q", "-o", "parts", "--part", "1/1"]).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    for words in ["error: cannot write ", "part-1-of-1-", "File too large", "\nhelp: make room there"] {
        assert!(said.contains(words), "{words} in {said}");
    }
    let stored = lines(folder, "parts") - files(folder, "parts").len();
    assert!((1..16).contains(&stored), "{stored}");
    assert_eq!(campaign(folder, &["-o", "parts", "--collect"]), (String::new(), 4));
    let missing = table(folder, "parts").matches(",missing,").count();
    assert_eq!(missing, 16 - stored);
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "1/1"]), (String::new(), 0));
    assert_eq!(campaign(folder, &["-o", "parts", "--collect"]), (String::new(), 0));
    assert_eq!(table(folder, "parts"), alone(folder));
}

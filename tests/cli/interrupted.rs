//! Runs that are killed, and disks that are full: what was there before stays whole.

use crate::{CASE, run, write_case};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    files.map(|f| (f.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(f).unwrap())).collect()
}

fn solve(folder: &Path, triangles: &str) -> BTreeMap<String, Vec<u8>> {
    let arguments = ["solve", "case.toml", "-q", "-o", "there", "--triangles", triangles];
    assert_eq!(run(folder, &arguments).2, 0);
    contents(&folder.join("there"))
}

/// A file larger than the limit cannot be written, as on a full disk.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_old_results() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let old = solve(folder.path(), "1000");
    // 64 blocks of 512 bytes; the signal ignored, so that the write fails as it does without room
    let output = Command::new("sh")
        .current_dir(folder.path())
        .args(["-c", "trap '' XFSZ; ulimit -f 64; exec \"$0\" solve case.toml -q -o there --triangles 20000"])
        .arg(env!("CARGO_BIN_EXE_twinplate"))
        .output()
        .unwrap();
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{error}");
    assert!(error.contains("cannot write") && error.contains("there"), "{error}");
    let now = contents(&folder.path().join("there"));
    assert!(now.keys().all(|name| !name.ends_with(".part")), "{:?}", now.keys());
    assert!(now["fields.vtu"] == old["fields.vtu"], "fields.vtu has changed");
}

/// A disk of one megabyte that is mounted in a user namespace of its own and filled by the second run; skipped where that is not allowed.
#[cfg(target_os = "linux")]
#[test]
fn a_small_disk_that_is_full_leaves_the_old_results() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    std::fs::create_dir(folder.path().join("there")).unwrap();
    let script = "mount -t tmpfs -o size=1m none there || exit 77
        \"$0\" solve case.toml -q -o there --triangles 1000 || exit 78
        cp -r there old || exit 79
        \"$0\" solve case.toml -q -o there --triangles 20000; echo \"code $?\"
        cmp there/fields.vtu old/fields.vtu && echo unchanged
        ls -A there | grep part$; exit 0";
    // Root mounts in a mount namespace, others are root in a user namespace of their own.
    let run = |how: &str| {
        Command::new("unshare")
            .current_dir(folder.path())
            .args([how, "sh", "-c", script])
            .arg(env!("CARGO_BIN_EXE_twinplate"))
            .output()
            .ok()
            .filter(|output| output.status.code() == Some(0) || output.status.code() == Some(78))
    };
    let Some(output) = run("-rm").or_else(|| run("-m")) else {
        eprintln!("skipped: no tmpfs can be mounted here, neither as root nor in a user namespace");
        return;
    };
    let (out, error) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(out, "code 1\nunchanged\n", "{error}");
    assert!(error.contains("cannot write") && error.contains("No space left"), "{error}");
}

/// Killed at any time, every file is an old one or a new one, whole.
#[test]
fn a_killed_run_leaves_whole_files() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let new = solve(folder.path(), "20000");
    let old = solve(folder.path(), "1000");
    for round in 0..12 {
        let mut child = Command::new(env!("CARGO_BIN_EXE_twinplate"))
            .current_dir(folder.path())
            .args(["solve", "case.toml", "-q", "-o", "there", "--triangles", "20000"])
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(60 * round));
        child.kill().unwrap();
        child.wait().unwrap();
        let now = contents(&folder.path().join("there"));
        for (name, content) in now.iter().filter(|(name, _)| name.ends_with(".vtu") || name.ends_with(".vtp")) {
            assert!(*content == old[name] || *content == new[name], "{name} is neither old nor new in round {round}");
        }
    }
    // what the killed runs left behind is removed once it is old, and the results are those of an undisturbed run
    let is_part = |name: &&String| name.ends_with(".part");
    for name in contents(&folder.path().join("there")).keys().filter(is_part) {
        let file = std::fs::File::options().write(true).open(folder.path().join("there").join(name)).unwrap();
        file.set_modified(std::time::SystemTime::now() - Duration::from_secs(100)).unwrap();
    }
    let again = solve(folder.path(), "20000");
    assert!(again["fields.vtu"] == new["fields.vtu"]);
    assert_eq!(again.keys().find(is_part), None);
}

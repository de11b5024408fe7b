//! Runs that are killed, disks that are full, machines without room or threads: what was there before stays whole.

use crate::{CASE, run, write_case};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use twinplate::base::hash::sha256;

fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file());
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
    assert!(now == old, "{:?}", now.keys());
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
        ls -A there | grep twinplate; exit 0";
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

/// Killed at any time, the set is the old one or the new one, whole, or `check` of the folder tells that it is mixed and the next run
/// completes it.
#[test]
fn a_killed_run_leaves_one_whole_set() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let new = hashes(&solve(folder.path(), "20000"));
    let old = hashes(&solve(folder.path(), "1000"));
    let rounds = std::env::var("TWINPLATE_KILLS").map_or(12, |n| n.parse().unwrap());
    let (mut new_ones, mut told) = (0, 0);
    for round in 0..rounds {
        solve(folder.path(), "1000");
        let mut child = Command::new(env!("CARGO_BIN_EXE_twinplate"))
            .current_dir(folder.path())
            .args(["solve", "case.toml", "-q", "-o", "there", "--triangles", "20000"])
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // spread by the golden section, the earlier the denser: nobody knows how long a run takes here
        std::thread::sleep(Duration::from_secs_f64(0.4 * (0.618 * f64::from(round)).fract().powi(2)));
        child.kill().unwrap();
        child.wait().unwrap();
        let there = hashes(&contents(&folder.path().join("there")));
        let (_, error, code) = run(folder.path(), &["check", "there"]);
        if code == 0 {
            assert!(there == old || there == new, "round {round}");
            new_ones += u32::from(there == new);
        } else {
            assert!(code == 3 && error.contains("killed while its files were put in place"), "{error}");
            told += 1;
            assert_eq!(run(folder.path(), &["mesh", "case.toml", "-q", "-o", "there", "--triangles", "100"]).2, 0);
            assert_eq!(run(folder.path(), &["check", "there", "-q"]), (String::new(), String::new(), 0));
        }
    }
    println!("{rounds} killed: {new_ones} sets are new, {told} were told to be mixed");
    solve(folder.path(), "20000");
    assert_eq!(hashes(&contents(&folder.path().join("there"))), new);
    assert!(!folder.path().join("there/.twinplate-unfinished").exists());
}

/// The hashes of the files that are the same in every run.
fn hashes(contents: &BTreeMap<String, Vec<u8>>) -> BTreeMap<String, String> {
    let same = |name: &str| name.ends_with(".vtu") || name.ends_with(".vtp");
    contents.iter().filter(|(name, _)| same(name)).map(|(name, bytes)| (name.clone(), sha256(bytes))).collect()
}

/// One of two runs into one folder is refused, and the set is the other's.
#[test]
fn two_runs_do_not_share_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let start = |triangles: &str| {
        Command::new(env!("CARGO_BIN_EXE_twinplate"))
            .current_dir(folder.path())
            .args(["solve", "case.toml", "-q", "-o", "there", "--triangles", triangles])
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    };
    let ends: Vec<_> = [start("20000"), start("20001")].map(|run| run.wait_with_output().unwrap()).into();
    let error: String = ends.iter().map(|end| String::from_utf8_lossy(&end.stderr)).collect();
    let mut codes: Vec<_> = ends.iter().map(|end| end.status.code().unwrap()).collect();
    codes.sort_unstable();
    assert_eq!(codes, [0, 1], "{error}");
    assert!(
        error.contains("another run is writing into there\nhelp: wait for it") && error.contains("delete there"),
        "{error}"
    );
    let (out, error, code) = run(folder.path(), &["check", "there"]);
    assert!(code == 0 && out.contains("Every file is the one that was written."), "{out}{error}");
}

/// A number that is not finite is found before any file of the set before is touched.
#[test]
fn a_run_without_an_answer_replaces_nothing() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let old = solve(folder.path(), "1000");
    let drive = CASE.lines().find(|line| line.starts_with("mean_speed")).unwrap();
    write_case(folder.path(), "case.toml", &CASE.replace(drive, "flow_rate = 1e308"));
    let (_, error, code) =
        run(folder.path(), &["solve", "case.toml", "-q", "-o", "there", "--force", "--triangles", "1000"]);
    assert!(code != 0 && !error.is_empty(), "{error}");
    assert_eq!(contents(&folder.path().join("there")), old);
}

/// What a folder of results is told to be by `check`.
#[test]
fn changed_and_missing_files_are_found() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    solve(folder.path(), "500");
    let there = folder.path().join("there");
    let check = || run(folder.path(), &["check", "there"]);
    let (out, _, code) = check();
    assert!(code == 0 && out.contains("solve triangles=500") && out.contains("SHA-256"), "{out}");
    std::fs::remove_file(there.join("obstacles.vtp")).unwrap();
    let text = std::fs::read_to_string(there.join("report.txt")).unwrap();
    std::fs::write(there.join("report.txt"), text.replace('1', "2")).unwrap();
    let (_, error, code) = check();
    assert_eq!(code, 3);
    for said in ["obstacles.vtp", "missing", "report.txt", "not the one that was written", "`twinplate solve case.toml"]
    {
        assert!(error.contains(said), "{said} in {error}");
    }
    std::fs::create_dir(there.join(".twinplate-unfinished")).unwrap();
    solve(folder.path(), "500");
    assert_eq!(check().2, 0);
    std::fs::remove_file(there.join("results.json")).unwrap();
    let (_, error, code) = check();
    assert!(code == 3 && error.contains("no results.json"), "{error}");
}

/// Where the system gives no thread, one does the work, and more than one that are asked for are an error; skipped where nobody can be denied
/// any.
#[cfg(target_os = "linux")]
#[test]
fn without_threads_one_does_the_work() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let with = |arguments: &str| {
        // root is denied nothing: it becomes nobody first, with a copy of the program that nobody may run
        let script = format!(
            "cp \"$0\" ./program && chmod 777 . program || exit 77
            if [ $(id -u) = 0 ]; then as='setpriv --reuid=65534 --regid=65534 --clear-groups'; else as=; fi
            $as true 2>/dev/null || exit 77
            prlimit --nproc=1 $as ./program solve case.toml -q --triangles 500 -o there{arguments}"
        );
        Command::new("sh")
            .current_dir(folder.path())
            .args(["-c", &script, env!("CARGO_BIN_EXE_twinplate")])
            .output()
            .unwrap()
    };
    let output = with("");
    let error = String::from_utf8_lossy(&output.stderr);
    if [Some(77), Some(127), Some(126)].contains(&output.status.code()) {
        eprintln!("skipped: no user can be denied threads here: {error}");
        return;
    }
    assert_eq!((output.status.code(), &*error), (Some(0), ""));
    let output = with(" --threads 4");
    let error = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code() == Some(1) && error.contains("4 threads could not be started"), "{error}");
    assert!(error.contains("help: give --threads a smaller number"), "{error}");
}

/// A limit of the process counts like the memory of the machine.
#[cfg(target_os = "linux")]
#[test]
fn the_limit_of_the_process_is_foreseen() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let script = "ulimit -v 1000000 || exit 77; exec \"$0\" solve case.toml -q --triangles 9000000 -o there";
    let output = Command::new("sh")
        .current_dir(folder.path())
        .args(["-c", script, env!("CARGO_BIN_EXE_twinplate")])
        .output()
        .unwrap();
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{error}");
    assert!(error.contains("GB of memory are free") && error.contains("--triangles"), "{error}");
}

/// A pipe that nobody writes to is no case.
#[cfg(unix)]
#[test]
fn a_pipe_without_a_writer_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let made = Command::new("mkfifo").arg(folder.path().join("case.toml")).status();
    if !made.is_ok_and(|status| status.success()) {
        return;
    }
    let (_, error, code) = run(folder.path(), &["check", "case.toml"]);
    assert!(code == 3 && error.contains("no plain file"), "{error}");
}

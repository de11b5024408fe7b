//! Scripts for clusters: read by shells as they are meant.

use super::*;
use std::io::Write;
use std::process::Stdio;
use twinplate::cli::script::{Scheduler, Task, script};

const AWKWARD: &str = "/scratch/the seal's \"angles\" $HOME `x` \\ %a/plan *.toml";

fn task<'a>(program: &'a Path, dir: &'a Path) -> Task<'a> {
    Task { program, plan: Path::new(AWKWARD), dir, parts: 3, threads: 2 }
}

/// Output of a command that is given a text.
fn through(command: &[&str], text: &str) -> String {
    let mut child = std::process::Command::new(command[0]);
    let child = child.args(&command[1..]).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = child
        .env("SLURM_ARRAY_TASK_ID", "3")
        .env("SLURM_CPUS_PER_TASK", "8")
        .env("PBS_ARRAY_INDEX", "3")
        .env("NCPUS", "8")
        .env("LSB_JOBINDEX", "3")
        .env("LSB_DJOB_NUMPROC", "8")
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{command:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// A program that prints its arguments, one a line, in a folder whose name needs quotes.
#[cfg(unix)]
fn printer(folder: &Path) -> PathBuf {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder.join("it's a bin");
    std::fs::create_dir(&folder).unwrap();
    let program = folder.join("twin plate");
    std::fs::write(&program, "#!/bin/sh\nprintf '%s\\n' \"$@\"\n").unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    program
}

fn arguments(part: &str, dir: &Path, threads: &str) -> String {
    format!("campaign\n{AWKWARD}\n--part\n{part}\n-o\n{}\n--threads\n{threads}\n", dir.display())
}

/// Blanks, quotes, signs of the shell: every word comes through, by a shell and by xargs.
#[cfg(unix)]
#[test]
fn words_come_through_the_shell() {
    let folder = tempfile::tempdir().unwrap();
    let (program, dir) = (printer(folder.path()), folder.path().join("results; ls & 'there'"));
    let plain = script(Scheduler::Plain, task(&program, &dir)).unwrap();
    let wanted: String = ["1/3", "2/3", "3/3"].map(|part| arguments(part, &dir, "2")).concat();
    assert_eq!(through(&["sh"], &plain), wanted);
    assert_eq!(through(&["xargs", "-L", "1", "env"], &plain), wanted);
    for scheduler in [Scheduler::Slurm, Scheduler::Pbs, Scheduler::Lsf] {
        let text = script(scheduler, task(&program, &dir)).unwrap();
        through(&["bash", "-n"], &text);
        // the task that the scheduler numbers, on the cores it gives
        assert_eq!(through(&["sh"], &text), arguments("3/3", &dir, "8"), "{text}");
        // the comment at the end, taken as a command
        let last = text.trim_end().lines().last().unwrap().trim_start_matches("# ");
        assert_eq!(through(&["sh"], last), format!("campaign\n{AWKWARD}\n--collect\n-o\n{}\n", dir.display()));
    }
}

/// What the program prints are the parts of its plan, and doing them is doing the campaign.
#[cfg(unix)]
#[test]
fn the_lines_that_are_printed_do_the_campaign() {
    let folder = folder_with(PLAN);
    let folder = folder.path();
    let mut command = Command::cargo_bin("twinplate").unwrap();
    let words = ["campaign", "plan.toml", "-o", "my parts", "--script", "plain", "-N", "3"];
    let output = command.current_dir(folder).args(words).output().unwrap();
    assert!(output.status.success() && output.stderr.is_empty() && !folder.join("my parts").exists());
    through(&["sh"], std::str::from_utf8(&output.stdout).unwrap());
    assert_eq!(campaign(folder, &["-o", "my parts", "--collect"]), (String::new(), 0));
    assert_eq!(table(folder, "my parts"), alone(folder));
}

#[test]
fn a_script_needs_a_number_of_parts_within_limits() {
    let folder = folder_with(PLAN);
    for (words, said) in [
        (&["--script", "slurm"][..], "--parts <N>"),
        (&["--script", "slurm", "-N", "0"], "0 is not in 1..=100000"),
        (&["--script", "pbs", "-N", "100001"], "100001 is not in 1..=100000"),
        (&["--script", "sge", "-N", "4"], "[possible values: slurm, pbs, lsf, plain]"),
        (&["-N", "4"], "--script <FOR>"),
        (&["--script", "lsf", "-N", "4", "--part", "1/4"], "cannot be used with"),
    ] {
        let (error, code) = campaign(folder.path(), words);
        assert!(code == 2 && error.contains(said), "{words:?}: {error}");
    }
}

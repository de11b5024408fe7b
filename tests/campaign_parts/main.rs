//! Campaigns by parts: whatever processes do them and however they end, the table is that of one process.

mod messages;
mod scripts;
mod shares;
mod single;

use assert_cmd::Command;
use std::path::{Path, PathBuf};

const CASE: &str = "title = \"pier\"\n[cell]\nlength = \"200 mm\"\nwidth = \"100 mm\"\ngap = \"0.5 mm\"\n[fluid]\nname = \"water\"\n\
                    temperature = \"20 degC\"\n[drive]\nmean_speed = \"1 mm/s\"\n[[obstacle]]\nname = \"pier\"\n\
                    circle = { centre = [0.1, 0.05], diameter = 0.04 }\n";

/// Sixteen runs, four of each diameter.
const PLAN: &str = "case = \"pier.toml\"\ncommand = \"solve\"\ntriangles = 400\nmeasure = [\"shape_factor.value\", \"drive.head\"]\n\
                    [vary]\n\"obstacle.pier.diameter\" = [0.02, 0.03, 0.04, 0.05]\n\
                    \"drive.mean_speed\" = { from = 1e-4, to = 1e-3, steps = 4 }\n";

/// A folder with the case and a plan.
fn folder_with(plan: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("pier.toml"), CASE).unwrap();
    std::fs::write(folder.path().join("plan.toml"), plan).unwrap();
    folder
}

/// Error output and exit code of `campaign plan.toml` in a folder; nothing is said where all is well.
fn campaign(folder: &Path, arguments: &[&str]) -> (String, i32) {
    let mut command = Command::cargo_bin("twinplate").unwrap();
    let output = command.current_dir(folder).args(["campaign", "plan.toml", "-q"]).args(arguments).output().unwrap();
    (String::from_utf8(output.stderr).unwrap(), output.status.code().unwrap())
}

fn table(folder: &Path, dir: &str) -> String {
    std::fs::read_to_string(folder.join(dir).join("campaign.csv")).unwrap()
}

/// What one process makes of the plan.
fn alone(folder: &Path) -> String {
    assert_eq!(campaign(folder, &["-o", "alone", "--threads", "2"]), (String::new(), 0));
    table(folder, "alone")
}

/// The files of runs, by name.
fn files(folder: &Path, dir: &str) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder.join(dir).join("runs")) else { return Vec::new() };
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// Whole lines of all files, heads and all.
fn lines(folder: &Path, dir: &str) -> usize {
    let ends = |path: &PathBuf| std::fs::read(path).unwrap().iter().filter(|&&byte| byte == b'\n').count();
    files(folder, dir).iter().map(ends).sum()
}

//! A run of a campaign against the command for one case.

use super::*;
use serde_json::Value;

/// What a command prints as JSON, without what it says of itself: times, files, settings.
fn printed(folder: &Path, arguments: &[&str]) -> Value {
    let mut command = Command::cargo_bin("twinplate").unwrap();
    let output = command.current_dir(folder).args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut report: Value = serde_json::from_slice(&output.stdout).unwrap();
    let own = ["run", "timings_s", "files", "file_sizes_bytes"];
    own.into_iter().for_each(|key| drop(report.as_object_mut().unwrap().remove(key)));
    report
}

/// Every number of the report, to the last digit, and the hash: whatever shared its solution before it, and for any number of threads.
#[test]
fn a_run_is_the_command_for_one_case() {
    let folder = folder_with(
        "case = \"pier.toml\"\ntriangles = 600\nmeasure = [\"drive.head\"]\n[vary]\n\"fluid.temperature\" = [\"20 degC\", \"30 degC\"]\n\
         \"obstacle.pier.diameter\" = [\"30 mm\", 0.04]\n\"drive.mean_speed\" = [1e-3, \"3 mm/s\"]\n",
    );
    let folder = folder.path();
    assert_eq!(campaign(folder, &["-o", "runs", "--threads", "2"]), (String::new(), 0));
    for (run, temperature, diameter, speed) in [("6", "30 degC", "30 mm", "3 mm/s"), ("3", "20 degC", "0.04", "1e-3")] {
        let of_campaign = printed(folder, &["campaign", "plan.toml", "-o", "runs", "--show", run]);
        let set = [
            format!("fluid.temperature={temperature}"),
            format!("obstacle.pier.diameter={diameter}"),
            format!("drive.mean_speed={speed}"),
        ];
        let mut words = vec!["departure", "pier.toml", "--triangles", "600", "--json", "-o", run, "--threads", "1"];
        set.iter().for_each(|set| words.extend(["--set", set]));
        assert_eq!(of_campaign, printed(folder, &words), "run {run}");
    }
}

/// Reads the plan and its case and solves nothing.
#[test]
fn the_demo_plans_are_in_order() {
    let plans = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/meshes/campaigns")).unwrap();
    let plans: Vec<PathBuf> = plans.map(|entry| entry.unwrap().path()).collect();
    assert!(!plans.is_empty());
    for plan in plans {
        let text = std::fs::read_to_string(&plan).unwrap();
        assert!(text.starts_with("# Origin: drawn for the museum's open day; invented data."), "{}", plan.display());
        let mut command = Command::cargo_bin("twinplate").unwrap();
        command.args(["campaign", plan.to_str().unwrap(), "--script", "plain", "-N", "3"]).assert().success();
    }
}

/// Two runs with the same values are two rows with one hash, which is told.
#[test]
fn runs_that_repeat_another_are_told() {
    let folder = folder_with(&PLAN.replace("0.04, 0.05", "0.04, 0.04"));
    let folder = folder.path();
    assert_eq!(campaign(folder, &["-o", "runs"]), (String::new(), 0));
    let table = table(folder, "runs");
    let row = |run: usize| table.lines().nth(run).unwrap().split_once(',').unwrap().1.to_owned();
    assert_eq!(row(9), row(13));
    let text = std::fs::read_to_string(folder.join("runs").join("campaign.json")).unwrap();
    let report: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(report["campaign"]["repeated"], 4);
    assert_eq!(report["runs"][8]["combined_sha256"], report["runs"][12]["combined_sha256"]);
}

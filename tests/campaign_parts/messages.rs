//! What is said where parts and plans do not fit.

use super::*;

#[test]
fn shares_that_are_none_are_told() {
    let folder = folder_with(PLAN);
    for (part, said) in [
        ("41/40", "there is no share 41 of 40: the first is 1/40, the last 40/40"),
        ("0/40", "there is no share 0 of 40: the first is 1/40, the last 40/40"),
        ("1/0", "there is no share 1 of 0: say which share of how many, such as 3/40"),
        ("3", "no share: say which share of how many, such as 3/40"),
        ("x/4", "\"x\" is no whole number: say which share of how many, such as 3/40"),
        ("-1/4", "\"-1\" is no whole number"),
    ] {
        let (error, code) = campaign(folder.path(), &[&format!("--part={part}")]);
        assert!(code == 2 && error.contains(said), "{part}: {error}");
    }
}

/// The first line of each part bears the hash of its plan, and no part of another plan joins them.
#[test]
fn a_plan_that_was_changed_between_parts_is_refused() {
    let folder = folder_with(PLAN);
    let folder = folder.path();
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "1/4"]), (String::new(), 0));
    let path = files(folder, "parts").remove(0);
    let text = std::fs::read_to_string(&path).unwrap();
    let head: serde_json::Value = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    assert_eq!(head["campaign_sha256"].as_str().map(str::len), Some(64));
    assert_eq!((head["plan"].as_str(), head["part"].as_str()), (Some("plan.toml"), Some("1-of-4")));
    std::fs::write(folder.join("plan.toml"), PLAN.replace("400", "500")).unwrap();
    for words in [&["--part", "2/4"][..], &["--part", "1/4"], &["--collect"], &["--show", "1"]] {
        let (error, code) = campaign(folder, &[&["-o", "parts"], words].concat());
        assert!(code == 2 && error.contains("holds runs of another plan") && error.contains("--force"), "{error}");
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    // the case is part of the plan
    std::fs::write(folder.join("plan.toml"), PLAN).unwrap();
    std::fs::write(folder.join("pier.toml"), CASE.replace("0.5 mm", "0.6 mm")).unwrap();
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "2/4"]).1, 2);
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "2/4", "--force"]), (String::new(), 0));
    assert!(!path.exists() && files(folder, "parts").len() == 1);
}

#[test]
fn runs_that_nobody_has_done_are_missing() {
    let folder = folder_with(PLAN);
    let folder = folder.path();
    let (error, code) = campaign(folder, &["-o", "parts", "--collect"]);
    assert!(code == 2 && error.contains("holds no run of this plan"), "{error}");
    assert_eq!(campaign(folder, &["-o", "parts", "--part", "2/4"]), (String::new(), 0));
    assert_eq!(campaign(folder, &["-o", "parts", "--collect"]), (String::new(), 4));
    let found = table(folder, "parts");
    let status: Vec<&str> = found.lines().skip(1).map(|line| line.split(',').nth(2).unwrap()).collect();
    assert_eq!(status.len(), 16);
    assert!((0..16).all(|k| status[k] == if (4..8).contains(&k) { "done" } else { "missing" }), "{status:?}");
}

#[test]
fn the_nearest_names_are_told() {
    let measure = |words: &str| PLAN.replace("drive.head", words);
    let key = |typed: &str| PLAN.replace("drive.mean_speed", typed);
    for (plan, code, said) in [
        (measure("drive.heed_m"), 2, "did you mean \"drive.head_m\"?"),
        (measure("shape_facter.value"), 2, "did you mean \"shape_factor.value\"?"),
        (key("drive.mean_sped"), 3, "did you mean \"drive.mean_speed\"?"),
        (key("obstacle.peer.diameter"), 3, "did you mean \"obstacle.pier.diameter\"?"),
        (PLAN.replace("measure", "measures"), 3, "unknown key \"measures\" in the plan"),
        (PLAN.replace("triangles", "triangels"), 3, "did you mean \"triangles\"?"),
    ] {
        let folder = folder_with(&plan);
        // several runs end before the first error stops them; none of them is stored, or the next time would pass over it
        for _ in 0..2 {
            let (error, ended) = campaign(folder.path(), &["--part", "1/1", "-o", "parts", "--threads", "4"]);
            assert!(ended == code && error.contains(said), "{said}: {error}");
            assert_eq!(lines(folder.path(), "parts"), 0, "{said}");
        }
    }
}

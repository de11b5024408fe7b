//! What the machine has for this process.

use std::path::{Path, PathBuf};

/// Memory that this process can take without swapping, bytes: the least of what the machine has free, what the limits of the process leave
/// and what those of its control groups leave. None where the system does not say.
///
/// Source: proc(5), proc_pid_limits(5), getrlimit(2), cgroups(7); the interface files of control groups of both versions.
pub fn free_memory() -> Option<f64> {
    free_below(Path::new("/"))
}

/// The same by the files of a system whose root is there.
fn free_below(root: &Path) -> Option<f64> {
    let read = |path: &str| std::fs::read_to_string(root.join(path)).ok();
    let machine = read("proc/meminfo").and_then(|text| kilobytes(&text, "MemAvailable:"));
    let process = read("proc/self/limits").zip(read("proc/self/status")).and_then(|(limits, status)| {
        let left = |limit: &str, used: &str| Some((soft(&limits, limit)? - kilobytes(&status, used)?).max(0.0));
        least([left("Max address space", "VmSize:"), left("Max data size", "VmData:")])
    });
    let groups = read("proc/self/cgroup").and_then(|text| {
        let folders: Vec<PathBuf> = text.lines().flat_map(folders_of_group).collect();
        least(folders.into_iter().map(|folder| left_in_group(&root.join(folder))))
    });
    least([machine, process, groups])
}

fn least(values: impl IntoIterator<Item = Option<f64>>) -> Option<f64> {
    values.into_iter().flatten().min_by(f64::total_cmp)
}

/// The number behind a key, as bytes.
fn kilobytes(text: &str, key: &str) -> Option<f64> {
    let line = text.lines().find_map(|line| line.strip_prefix(key))?;
    line.trim().strip_suffix("kB")?.trim().parse::<f64>().ok().map(|kilobytes| 1024.0 * kilobytes)
}

/// The soft limit of a name, bytes; none if it is unlimited.
fn soft(limits: &str, name: &str) -> Option<f64> {
    limits.lines().find_map(|line| line.strip_prefix(name))?.split_whitespace().next()?.parse().ok()
}

/// The folders of a control group and of those around it, from the root; a line is `number:controllers:path`.
fn folders_of_group(line: &str) -> Vec<PathBuf> {
    let mut parts = line.splitn(3, ':').skip(1);
    let (Some(controllers), Some(path)) = (parts.next(), parts.next()) else { return Vec::new() };
    let mount = match controllers {
        "" => "sys/fs/cgroup",
        some if some.split(',').any(|name| name == "memory") => "sys/fs/cgroup/memory",
        _ => return Vec::new(),
    };
    let own = Path::new(path.trim_start_matches('/'));
    own.ancestors().map(|above| Path::new(mount).join(above)).collect()
}

/// What the limit of one control group leaves; what it holds of files can be given up.
fn left_in_group(folder: &Path) -> Option<f64> {
    let number = |names: [&str; 2]| -> Option<f64> {
        let text = names.iter().find_map(|name| std::fs::read_to_string(folder.join(name)).ok())?;
        text.trim().parse().ok()
    };
    let limit = number(["memory.max", "memory.limit_in_bytes"])?;
    let used = number(["memory.current", "memory.usage_in_bytes"])?;
    let stat = std::fs::read_to_string(folder.join("memory.stat")).unwrap_or_default();
    let of_files = |key: &str| stat.lines().find_map(|line| line.strip_prefix(key)?.trim().parse::<f64>().ok());
    let files = of_files("inactive_file ").or_else(|| of_files("total_inactive_file ")).unwrap_or(0.0);
    Some((limit - used + files).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn system(files: &[(&str, &str)]) -> Option<f64> {
        let root = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = root.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        free_below(root.path())
    }

    const MACHINE: (&str, &str) = ("proc/meminfo", "MemTotal:  9000000 kB\nMemAvailable:    5000 kB\n");
    const STATUS: (&str, &str) = ("proc/self/status", "Name:\ttwinplate\nVmSize:\t    1000 kB\nVmData:\t     300 kB\n");

    fn limits(space: &str, data: &str) -> String {
        format!(
            "Limit                     Soft Limit           Hard Limit           Units     \n\
             Max data size             {data}            unlimited            bytes     \n\
             Max address space         {space}            unlimited            bytes     \n"
        )
    }

    #[test]
    fn the_least_of_machine_process_and_groups_counts() {
        assert_eq!(system(&[]), None);
        assert_eq!(system(&[MACHINE]), Some(5000.0 * 1024.0));
        let with = |space: &str, data: &str| system(&[MACHINE, STATUS, ("proc/self/limits", &limits(space, data))]);
        assert_eq!(with("unlimited", "unlimited"), Some(5000.0 * 1024.0));
        assert_eq!(with("3072000", "unlimited"), Some(3072000.0 - 1024000.0));
        assert_eq!(with("unlimited", "307300"), Some(100.0));
        assert_eq!(with("1000", "unlimited"), Some(0.0), "less than there is already");
        // version 2, the limit on the group above
        let group =
            |files: &[(&str, &str)]| system(&[&[MACHINE, ("proc/self/cgroup", "0::/lab/run\n")], files].concat());
        assert_eq!(group(&[("sys/fs/cgroup/lab/run/memory.max", "max\n")]), Some(5000.0 * 1024.0));
        let above = [("sys/fs/cgroup/lab/memory.max", "4000\n"), ("sys/fs/cgroup/lab/memory.current", "1500\n")];
        assert_eq!(group(&above), Some(2500.0));
        let files = ("sys/fs/cgroup/lab/memory.stat", "anon 7\ninactive_file 400\n");
        assert_eq!(group(&[above.as_slice(), &[files]].concat()), Some(2900.0));
        // version 1, and a container that sees its own group as the root
        let old = [
            ("proc/self/cgroup", "5:cpu:/x\n4:blkio,memory:/docker/1\n"),
            ("sys/fs/cgroup/memory/memory.limit_in_bytes", "9000\n"),
            ("sys/fs/cgroup/memory/memory.usage_in_bytes", "8000\n"),
            ("sys/fs/cgroup/memory/memory.stat", "total_inactive_file 50\n"),
        ];
        assert_eq!(system(&old), Some(1050.0));
    }
}

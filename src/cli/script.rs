//! A script that hands the shares of a campaign to a cluster: one task of a job array each.

use crate::base::text::quoted;
use crate::base::{Error, Result};
use std::path::Path;

/// Most shares of a script.
pub const MOST_PARTS: u32 = 100_000;

/// Most characters of the name of a job, which PBS cuts there.
const LONGEST_NAME: usize = 15;

/// What takes the script.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scheduler {
    /// `sbatch`.
    Slurm,
    /// `qsub` of PBS Professional and OpenPBS.
    Pbs,
    /// `bsub`.
    Lsf,
    /// One command a line and nothing else, for `xargs`, GNU parallel or a shell.
    Plain,
}

/// What each task does.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// The program, by its absolute path.
    pub program: &'a Path,
    /// The plan, likewise.
    pub plan: &'a Path,
    /// The folder of the campaign, likewise; all tasks see it.
    pub dir: &'a Path,
    /// Number of shares, 1 to [`MOST_PARTS`].
    pub parts: u32,
    /// Cores of a task.
    pub threads: u32,
}

/// The script. Words are quoted by the rules of the POSIX shell.
///
/// # Errors
/// [`Error::Usage`] if there are no shares or too many, or if a path holds what no script can: a line break or bytes that are no UTF-8.
pub fn script(scheduler: Scheduler, task: Task<'_>) -> Result<String> {
    let Task { parts, threads, .. } = task;
    if !(1..=MOST_PARTS).contains(&parts) {
        let message = format!("a script of {parts} parts was asked for");
        return Err(Error::argument(message, format!("give 1 to {MOST_PARTS}")));
    }
    let [program, plan, dir] = [word(task.program)?, word(task.plan)?, word(task.dir)?];
    let command = |part: &str, threads: &str| {
        format!("{program} campaign {plan} --part {part}/{parts} -o {dir} --threads {threads}")
    };
    if scheduler == Scheduler::Plain {
        return Ok((1..=parts).map(|part| command(&part.to_string(), &threads.to_string()) + "\n").collect());
    }
    let name = job_name(task.plan);
    let Array { submit, directives, index, cores, limit } = Array::of(scheduler, &name, parts, threads);
    let large = match limit {
        Some((setting, usual)) if parts > usual => format!(
            "# Many clusters take no array of {parts}: {setting} is {usual} where nobody changed it. Ask for fewer parts there.\n"
        ),
        _ => String::new(),
    };
    let again = match scheduler {
        Scheduler::Slurm => "#   sbatch --array=NUMBER THIS_FILE\n".to_owned(),
        _ => format!("#   {submit}\n"),
    };
    let task = command(index, cores);
    Ok(format!(
        "#!/bin/sh\n{directives}#\n# {parts} parts of a campaign, one a task. Submit this file by: {submit}\n{large}# Add above what your \
         cluster wants to know: queue, account, time, memory.\n\nexec {task}\n\n# Submit a part again if its task was killed; runs that are \
         stored are not done again:\n{again}# When all tasks have ended, join what they have done:\n#   {program} campaign {plan} --collect \
         -o {dir}\n"
    ))
}

/// How a scheduler is told of an array.
struct Array {
    submit: &'static str,
    directives: String,
    /// Number of the task, to the shell.
    index: &'static str,
    /// Its cores, to the shell.
    cores: &'static str,
    /// The setting that bounds arrays, and its usual value.
    limit: Option<(&'static str, u32)>,
}

impl Array {
    fn of(scheduler: Scheduler, name: &str, parts: u32, threads: u32) -> Array {
        match scheduler {
            Scheduler::Lsf => Array {
                submit: "bsub < THIS_FILE",
                directives: format!("#BSUB -J {name}[1-{parts}]\n#BSUB -n {threads}\n#BSUB -R \"span[hosts=1]\"\n"),
                index: "\"$LSB_JOBINDEX\"",
                cores: "\"${LSB_DJOB_NUMPROC:-1}\"",
                limit: Some(("MAX_JOB_ARRAY_SIZE", 1000)),
            },
            Scheduler::Pbs => {
                // an array of one is refused
                let array = if parts > 1 { format!("#PBS -J 1-{parts}\n") } else { String::new() };
                Array {
                    submit: "qsub THIS_FILE",
                    directives: format!("#PBS -N {name}\n{array}#PBS -l select=1:ncpus={threads}\n#PBS -r y\n"),
                    index: "\"${PBS_ARRAY_INDEX:-1}\"",
                    cores: "\"${NCPUS:-1}\"",
                    limit: Some(("max_array_size", 10_000)),
                }
            }
            Scheduler::Slurm | Scheduler::Plain => Array {
                submit: "sbatch THIS_FILE",
                directives: format!(
                    "#SBATCH --job-name={name}\n#SBATCH --array=1-{parts}\n#SBATCH --ntasks=1\n#SBATCH --cpus-per-task={threads}\n\
                     #SBATCH --requeue\n"
                ),
                index: "\"$SLURM_ARRAY_TASK_ID\"",
                cores: "\"${SLURM_CPUS_PER_TASK:-1}\"",
                limit: Some(("MaxArraySize", 1000)),
            },
        }
    }
}

/// A path as a word of the shell.
fn word(path: &Path) -> Result<String> {
    match path.to_str() {
        Some(text) if !text.contains(char::is_control) => Ok(quoted(text)),
        _ => {
            let message = format!("the path {path:?} cannot stand in a script");
            Err(Error::argument(message, "rename it: UTF-8 without line breaks"))
        }
    }
}

/// The name of the plan's file as far as every scheduler takes it: a letter first, no blanks, no signs.
fn job_name(plan: &Path) -> String {
    let stem = plan.file_stem().unwrap_or_default().to_string_lossy();
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
    let name: String = stem.chars().map(plain).skip_while(|c| !c.is_ascii_alphabetic()).take(LONGEST_NAME).collect();
    if name.is_empty() { "campaign".to_owned() } else { name }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn task<'a>(plan: &'a str, parts: u32) -> Task<'a> {
        let (program, dir) = (Path::new("/opt/bin/twinplate"), Path::new("/scratch/seal"));
        Task { program, plan: Path::new(plan), dir, parts, threads: 4 }
    }

    #[test]
    fn each_scheduler_is_told_of_the_array_in_its_own_words() {
        for (scheduler, said, index) in [
            (Scheduler::Slurm, "#SBATCH --array=1-40\n", "\"$SLURM_ARRAY_TASK_ID\"/40 "),
            (Scheduler::Slurm, "#SBATCH --cpus-per-task=4\n", "--threads \"${SLURM_CPUS_PER_TASK:-1}\"\n"),
            (Scheduler::Pbs, "#PBS -J 1-40\n", "\"${PBS_ARRAY_INDEX:-1}\"/40 "),
            (Scheduler::Pbs, "#PBS -l select=1:ncpus=4\n", "--threads \"${NCPUS:-1}\"\n"),
            (Scheduler::Lsf, "#BSUB -J seal_angles[1-40]\n", "\"$LSB_JOBINDEX\"/40 "),
            (Scheduler::Lsf, "#BSUB -n 4\n", "--threads \"${LSB_DJOB_NUMPROC:-1}\"\n"),
        ] {
            let text = script(scheduler, task("/home/dock/seal_angles.toml", 40)).unwrap();
            assert!(text.contains(said) && text.contains(index), "{text}");
            let last = text.trim_end().lines().last().unwrap();
            assert_eq!(last, "#   /opt/bin/twinplate campaign /home/dock/seal_angles.toml --collect -o /scratch/seal");
            // directives stand before the first command, or schedulers pass over them
            let first = text.lines().position(|line| !line.starts_with('#') && !line.is_empty()).unwrap();
            let directives = ["#SBATCH", "#PBS", "#BSUB"];
            assert!(text.lines().skip(first).all(|line| directives.iter().all(|start| !line.starts_with(start))));
        }
    }

    #[test]
    fn plain_lines_are_commands_alone() {
        let text = script(Scheduler::Plain, task("/p.toml", 3)).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        let line = |part| format!("/opt/bin/twinplate campaign /p.toml --part {part}/3 -o /scratch/seal --threads 4");
        assert_eq!(lines, [line(1), line(2), line(3)]);
    }

    #[test]
    fn an_array_of_one_and_a_very_large_one() {
        let one = |scheduler| script(scheduler, task("/p.toml", 1)).unwrap();
        assert!(!one(Scheduler::Pbs).contains("-J") && one(Scheduler::Slurm).contains("--array=1-1\n"));
        let all = script(Scheduler::Slurm, task("/p.toml", MOST_PARTS)).unwrap();
        assert!(all.contains("MaxArraySize is 1000"), "{all}");
        for parts in [0, MOST_PARTS + 1] {
            assert!(script(Scheduler::Slurm, task("/p.toml", parts)).is_err());
        }
    }

    #[test]
    fn jobs_have_names_that_every_scheduler_takes() {
        for (plan, name) in [
            ("/a b/seal angles.toml", "seal-angles"),
            ("/7 [speeds].toml", "speeds-"),
            ("/a_very_long_name_of_a_plan.toml", "a_very_long_nam"),
            ("/潮.toml", "campaign"),
        ] {
            assert_eq!(job_name(Path::new(plan)), name);
        }
    }

    #[test]
    fn paths_that_no_script_can_hold_are_refused() {
        let error = script(Scheduler::Plain, task("/a\nb.toml", 2)).unwrap_err();
        assert!(error.what().contains("\"/a\\nb.toml\""), "{}", error.what());
    }
}

#!/usr/bin/env bash
# A campaign as a job array of a Slurm of one node, one task of it killed at work; its table against that of one process.
#
#   validation/campaign/slurm.sh [PROGRAM]
#
# As root on Debian: installs slurmctld, slurmd, slurm-client and munge where they are missing, runs them in a temporary folder with a
# configuration of their own, and stops them at the end. Exit code 77 where Slurm cannot be had or does not start.
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
program="$(realpath "${1:-$here/../../target/release/twinplate}")"
parts=8
victim=5

skip() { echo "skipped: $1" >&2; exit 77; }
fail() { echo "FAILED: $1" >&2; exit 1; }

[ -x "$program" ] || fail "there is no program $program: build it by cargo build --release, or name it"
[ "$(id -u)" = 0 ] || skip "needs root to install and start Slurm"
all_there() { for tool in slurmctld slurmd sbatch munged; do command -v "$tool" >/dev/null || return 1; done; }
if ! all_there; then
    command -v apt-get >/dev/null || skip "no Slurm here, and no apt-get to install it by"
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends slurmctld slurmd slurm-client munge \
        >/dev/null 2>&1 || skip "apt-get could not install slurmctld, slurmd, slurm-client and munge"
fi

folder="$(mktemp -d /tmp/harbour.XXXXXX)"
started=()
clean_up() {
    for process in ${started[@]+"${started[@]}"}; do kill "$process" 2>/dev/null || true; done
    wait 2>/dev/null || true
    rm -rf "$folder"
}
trap clean_up EXIT

# waits up to so many seconds until a command succeeds
await() {
    local seconds="$1" start="$SECONDS"
    shift
    until "$@" >/dev/null 2>&1; do
        [ $((SECONDS - start)) -lt "$seconds" ] || return 1
        sleep 0.1
    done
}

node="$(hostname -s)"
mkdir -p "$folder/state" "$folder/spool" "$folder/munge"
chmod 755 "$folder" "$folder/munge"
(umask 077 && head -c 128 /dev/urandom >"$folder/munge/key")
cat >"$folder/slurm.conf" <<END
ClusterName=harbour
SlurmctldHost=$node(127.0.0.1)
SlurmctldPort=26817
SlurmdPort=26818
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$folder/munge/socket
CredType=cred/munge
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
ReturnToService=2
SchedulerParameters=sched_interval=2,batch_sched_delay=0
StateSaveLocation=$folder/state
SlurmdSpoolDir=$folder/spool
SlurmctldPidFile=$folder/slurmctld.pid
SlurmdPidFile=$folder/slurmd.pid
SlurmctldLogFile=$folder/slurmctld.log
SlurmdLogFile=$folder/slurmd.log
NodeName=$node NodeAddr=127.0.0.1 CPUs=$(nproc) State=UNKNOWN
PartitionName=dock Nodes=$node Default=YES MaxTime=INFINITE State=UP
END
export SLURM_CONF="$folder/slurm.conf"

munged --foreground --force --socket="$folder/munge/socket" --key-file="$folder/munge/key" --pid-file="$folder/munge/pid" \
    --log-file="$folder/munge/log" --seed-file="$folder/munge/seed" >"$folder/munge/out" 2>&1 &
started+=($!)
await 20 test -S "$folder/munge/socket" || skip "munged did not start: $(tail -n 1 "$folder/munge/out")"
slurmctld -D >"$folder/slurmctld.out" 2>&1 &
started+=($!)
await 30 scontrol ping || skip "slurmctld did not start: $(tail -n 1 "$folder/slurmctld.log")"
slurmd -D -N "$node" >"$folder/slurmd.out" 2>&1 &
started+=($!)
idle() { [ "$(sinfo -h -o %t)" = idle ]; }
await 60 idle || skip "slurmd did not start: $(tail -n 1 "$folder/slurmd.log")"
echo "$(slurmctld -V), one node of $(nproc) cores"

# blanks and a quote in every path
work="$folder/the museum's dock"
mkdir "$work"
cp "$here/pier.toml" "$here/slow.toml" "$work"
cd "$work"
plan="$work/slow.toml"
"$program" campaign slow.toml -o "by parts" --script slurm -N "$parts" >array.sh
ended() { [ -z "$(squeue -h -r -j "$1")" ]; }
stored() { cat "by parts/runs/part-$victim-of-$parts-"*.jsonl 2>/dev/null | grep -c '"run":' || true; }

begin="$SECONDS"
job="$(sbatch --parsable array.sh)"
echo "submitted: job $job, $parts tasks of $((32 / parts)) runs"
met() { [ "$(stored)" -ge 1 ]; }
await 900 met || fail "part $victim stored nothing: $(tail -n 3 slurm-*.out)"
scancel --full --signal=KILL "${job}_$victim"
await 900 ended "$job" || fail "the array did not end"
before="$(stored)"
echo "killed part $victim with $before of 4 runs stored: $(scontrol -o show job "${job}_$victim" | grep -o 'JobState=[A-Z]*')"
[ "$before" -lt 4 ] || fail "part $victim was done before it was killed: make slow.toml slower"

code=0
"$program" campaign slow.toml -o "by parts" --collect -q || code=$?
[ "$code" = 4 ] || fail "with a part missing --collect ends with $code, not with 4"
missing="$(grep -c ',missing,' "by parts/campaign.csv")"
[ "$missing" = $((4 - before)) ] || fail "$missing runs are said to be missing, not $((4 - before))"

again="$(sbatch --parsable --array=$victim array.sh)"
await 900 ended "$again" || fail "part $victim, submitted again, did not end"
"$program" campaign slow.toml -o "by parts" --collect -q
echo "by parts: $((SECONDS - begin)) s; files of runs: $(ls "by parts/runs" | wc -l)"
"$program" campaign slow.toml -o "by one process" -q
cmp "by parts/campaign.csv" "by one process/campaign.csv" || fail "the tables differ"
echo "passed: campaign.csv is the same to the last byte ($(wc -c <"by parts/campaign.csv") bytes)"

#!/bin/bash
# Tries the way over Slurm on this machine: a campaign as an array on two workers, one task killed, one worker lost, the result compared with one process.
#
#   tests/cluster/slurm.sh PROGRAM             PROGRAM is a built valvewright
#   tests/cluster/slurm.sh PROGRAM --install   as root: installs slurmctld, slurmd, slurm-client and munge from the distribution first
#
# Everything stands in a folder of its own and on 127.0.0.1, and is stopped and taken away at the end; the machine's own Slurm and munge, if
# there are any, are not touched. Kept where KEEP=1. Some three minutes. Seen with Slurm 22.05 and munge 0.5.15 of Debian 12.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
program=$(realpath "${1:?give the program}")
examples=$here/../../sim-host/examples/cluster
tasks=4

if [ "${2:-}" = --install ]; then
    apt-get update -qq
    # Nothing is started by the installation.
    quiet=/usr/sbin/policy-rc.d
    if [ -e $quiet ]; then quiet=; else printf '#!/bin/sh\nexit 101\n' >$quiet && chmod +x $quiet; fi
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends slurmctld slurmd slurm-client munge iproute2 python3
    [ -z "$quiet" ] || rm "$quiet"
fi
for tool in munged slurmctld slurmd sbatch ss python3; do
    command -v $tool >/dev/null || { echo "$tool is not installed: see the head of $0"; exit 64; }
done

dir=$(mktemp -d "${TMPDIR:-/tmp}/slurm-trial.XXXXXX")
chmod 755 "$dir"
own=()
stop() {
    # The newest first: workers, controller, keys.
    for ((at = ${#own[@]} - 1; at >= 0; at--)); do
        kill "${own[at]}" 2>/dev/null || true
        for _ in $(seq 50); do kill -0 "${own[at]}" 2>/dev/null || break; sleep 0.1; done
        kill -9 "${own[at]}" 2>/dev/null || true
    done
    if [ "${KEEP:-}" = 1 ]; then echo "kept: $dir"; else rm -rf "$dir"; fi
}
trap stop EXIT
mkdir -p "$dir/state" "$dir/spool-worker1" "$dir/spool-worker2"

free() { python3 -c 'import socket; s = [socket.socket() for _ in range(3)]; [x.bind(("127.0.0.1", 0)) for x in s]; print(*[x.getsockname()[1] for x in s])'; }
read -r port port1 port2 < <(free)
host=$(hostname -s)
sed -e "s|@HOST@|$host|; s|@PORT@|$port|; s|@PORT1@|$port1|; s|@PORT2@|$port2|; s|@USER@|$(id -un)|; s|@DIR@|$dir|" \
    "$here/slurm.conf.in" >"$dir/slurm.conf"
export SLURM_CONF=$dir/slurm.conf

(umask 077 && head -c 1024 /dev/urandom >"$dir/munge.key")
munged --foreground --force --key-file="$dir/munge.key" --socket="$dir/munge.socket" --pid-file="$dir/munge.pid" \
    --seed-file="$dir/munge.seed" --log-file="$dir/munge.log" >"$dir/munge.out" 2>&1 &
own+=($!)
disown
for _ in $(seq 50); do [ -S "$dir/munge.socket" ] && break; sleep 0.1; done
slurmctld -D -f "$SLURM_CONF" >"$dir/slurmctld.out" 2>&1 &
own+=($!)
disown
worker() {
    slurmd -D -f "$SLURM_CONF" -N "$1" >"$dir/$1.out" 2>&1 &
    own+=($!)
    disown
}
worker worker1
worker worker2
up() { [ "$(sinfo -h -N -o '%N %T' 2>/dev/null | grep -cE 'idle|mixed|allocated')" = 2 ]; }
for _ in $(seq 100); do up && break; sleep 0.3; done
up || { echo "the two workers did not come up:"; sinfo || true; tail -n 20 "$dir"/*.log "$dir"/*.out; exit 1; }
sinfo -h -N -o '%N %T'
for one in "$port" "$port1" "$port2"; do
    at=$(ss -Hltn "sport = :$one" | awk '{ print $4 }')
    [ "$at" = "127.0.0.1:$one" ] || { echo "port $one listens on '$at' and not on the loopback address alone"; exit 1; }
done

now() { date +%s.%N; }
since() { echo "$(now) $1" | awk '{ printf "%.1f", $1 - $2 }'; }
# The array has ended where no task of it is waiting or running.
ended() { [ -z "$(squeue -h -r -j "$1" -t PD,CF,R,CG,S,RQ,SI,SO 2>/dev/null)" ]; }
wait_for() { for _ in $(seq 1200); do ended "$1" && return; sleep 0.25; done; echo "job $1 did not end"; squeue; return 1; }
# Pids of processes of this trial alone whose command has these words.
ours() { for pid in $(pgrep -f -- "$1" || true); do grep -qz "^SLURM_CONF=$dir" "/proc/$pid/environ" 2>/dev/null && echo "$pid"; done; true; }
trap 'scancel --me 2>/dev/null || true; sleep 1; kill -9 $(ours "campaign .*$dir/") 2>/dev/null || true; stop' EXIT
fact() { scontrol show job "${part}_$1" | tr ' ' '\n' | sed -n "s/^$2=//p" | head -n 1; }
shards() { find "$dir/all/shards" -name '*.parquet' 2>/dev/null | wc -l; }

# What a task costs before it does anything: twenty of them on two workers.
start=$(now)
idle=$(sbatch --parsable --array=1-20 --output=/dev/null --wrap true)
wait_for "$idle"
echo "start    20 tasks that do nothing took $(since "$start") s on 2 workers"

start=$(now)
"$program" campaign "$examples/plan.toml" --out "$dir/one" --jobs 1 2>"$dir/one.txt"
echo "one      $(tail -n 1 "$dir/one.txt") (one process, one thread: $(since "$start") s)"

start=$(now)
part=$(VALVEWRIGHT=$program sbatch --parsable --array=1-$tasks --chdir="$dir" --output="$dir/task-%a.txt" \
    "$examples/campaign.sbatch" "$examples/plan.toml" "$dir/all")
merged=$(sbatch --parsable --dependency=afterok:"$part" --output="$dir/merge.txt" --wrap "'$program' campaign --merge '$dir/all'")

# A program is killed when its task has finished a shard or two; the script of the task puts it back into the queue.
for _ in $(seq 400); do [ "$(shards)" -ge 4 ] && [ -n "$(ours "campaign .*--shard 1/$tasks")" ] && break; sleep 0.05; done
victim=$(ours "campaign .*--shard 1/$tasks" | head -n 1)
[ -n "$victim" ] || { echo "task 1 was over before it could be killed: make the plan longer"; exit 1; }
kill -9 "$victim"
echo "killed   the program of task 1 with $(shards) shards finished"

# A worker is lost with all that runs on it: Slurm itself puts its task back.
for _ in $(seq 400); do lost=$(squeue -h -r -j "$part" -t R -w worker2 -o '%A %K' | head -n 1); [ -n "$lost" ] && break; sleep 0.05; done
read -r job task <<<"${lost:?no task came to the second worker}"
kill -9 "${own[3]}"
kill -9 $(ours "slurmstepd.*\[$job") $(ours "campaign .*--shard $task/$tasks") 2>/dev/null || true
echo "lost     worker2 with task $task on it, $(shards) shards finished"
for _ in $(seq 400); do sinfo -h -n worker2 -o %T | grep -q down && break; sleep 0.25; done
echo "worker2  $(sinfo -h -n worker2 -o %T)"
unset 'own[3]' && own=("${own[@]}")
worker worker2

wait_for "$part"
wait_for "$merged"
echo "array    $tasks tasks on 2 workers, a kill and a lost worker in between: $(since "$start") s"
for one in $(seq $tasks); do
    echo "task $one   $(fact "$one" JobState) on $(fact "$one" NodeList), restarted $(fact "$one" Restarts) times: $(grep -h ' runs in ' "$dir/task-$one.txt" | tail -n 1)"
done
cat "$dir/merge.txt"

[ "$(fact 1 Restarts)" -ge 1 ] || { echo "the killed task was not restarted"; exit 1; }
[ "$(fact "$task" Restarts)" -ge 1 ] || { echo "the task of the lost worker was not restarted"; exit 1; }
grep -q 'were there' "$dir/task-1.txt" || { echo "the restarted task made its finished shards again"; exit 1; }
cmp "$dir/one/result.parquet" "$dir/all/result.parquet"
echo "same     $(sha256sum <"$dir/all/result.parquet" | cut -c 1-16), $(stat -c %s "$dir/all/result.parquet") bytes: the array and the one process"

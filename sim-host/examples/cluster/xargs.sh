#!/bin/sh
# A campaign in parts, as many at a time as there are processors: ./xargs.sh PLAN FOLDER [PARTS]. Given again, it goes on where it was stopped.
set -eu
plan=${1:?the plan is missing} folder=${2:?the folder is missing} parts=${3:-8}
program=${VALVEWRIGHT:-valvewright}
seq "$parts" | xargs -P "$(nproc)" -I{} "$program" campaign "$plan" --out "$folder" --jobs 1 --shard "{}/$parts"
exec "$program" campaign --merge "$folder"

#!/bin/sh
# What 'wheelhark study' refuses, and that it harms nothing doing so. Usage: study_options.sh PROGRAM FOLDER-OF-RECORDINGS
set -u
program=$1
recordings=$2
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failures=0

# expect STATUS WORDS ARGUMENTS...: exit status, and words that must be among what is said
expect() {
    wanted=$1
    words=$2
    shift 2
    "$program" study "$@" >"$work/output" 2>&1
    status=$?
    if [ "$status" -ne "$wanted" ] || ! grep -q -e "$words" "$work/output"; then
        printf 'study %s: exit status %s, wanted %s and "%s" in\n' "$*" "$status" "$wanted" "$words"
        cat "$work/output"
        failures=$((failures + 1))
    fi
}

noise=$recordings/bad-noise-250k.sigmf-meta
sensors=$recordings/good-interleaved.sigmf-meta
printf 'recording,pressure\nelsewhere,700 kPa\n' >"$work/wrong.csv"
printf 'recording,pressure\ngood-interleaved,700 kPa\n' >"$work/right.csv"

expect 65 "no such recording: 'elsewhere'" --quiet --truth "$work/wrong.csv" "$sensors"
expect 66 "absent.csv" --quiet --truth "$work/absent.csv" "$sensors"
expect 64 "must be NAME.yaml" --quiet --draft "$work/Yard.yaml" "$sensors"
expect 64 "must be NAME.yaml" --quiet --draft "$work/yard" "$sensors"
expect 64 "\-\-kind" --quiet --kind 0 --draft "$work/yard.yaml" "$sensors"
expect 65 "nothing to draft" --quiet --draft "$work/yard.yaml" "$noise"
[ ! -e "$work/yard.yaml" ] || { echo 'a draft of noise was written'; failures=$((failures + 1)); }
expect 66 "no kind 9" --quiet --kind 9 --draft "$work/yard.yaml" "$sensors"

# Two frames are few: the draft says so, is partial, and is a good descriptor all the same.
expect 0 "open" --quiet --truth "$work/right.csv" --draft "$work/yard.yaml" "$sensors"
grep -q '^partial: yes' "$work/yard.yaml" || { echo 'not partial'; failures=$((failures + 1)); }
if grep -q 'role: pressure' "$work/yard.yaml"; then echo 'a pressure from one reading'; failures=$((failures + 1)); fi
"$program" descriptor check "$work/yard.yaml" >"$work/output" 2>&1 || {
    cat "$work/output"
    failures=$((failures + 1))
}
cp "$work/yard.yaml" "$work/before"
expect 74 "never overwritten" --quiet --draft "$work/yard.yaml" "$sensors"
cmp -s "$work/before" "$work/yard.yaml" || { echo 'the draft was changed'; failures=$((failures + 1)); }
exit "$failures"

#!/usr/bin/env bash
# The command `wheelhark synth`: exit status, messages, and the same bytes for the same seed.
#   test_synth_command.sh PROGRAM DESCRIPTOR_FOLDER
set -u
program=$1 folder=$2
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failures=0

fail() {
    echo "FAILED: $*"
    failures=$((failures + 1))
}

# run EXPECTED_STATUS ARGUMENTS...
run() {
    local expected=$1
    shift
    "$program" synth --descriptors "$folder" "$@" >"$work/out" 2>"$work/err"
    local status=$?
    [ "$status" -eq "$expected" ] || fail "status $status instead of $expected: $* ($(cat "$work/err"))"
    [ -s "$work/out" ] && [ "$expected" -ne 0 ] && fail "standard output is not empty: $*"
}

says() {
    grep -qF -- "$1" "$work/err" || fail "'$1' is not in: $(cat "$work/err")"
}

two=(demo-fsk-manchester --set sensor=0A1B2C3D --set "pressure=724 kPa" --snr 15
     --and demo-ook-manchester --carrier 433.95M --set sensor=9C0FFEE --copies 2)
run 0 "${two[@]}" --seed 7 --out "$work/a"
run 0 "${two[@]}" --seed 7 --out "$work/b"
run 0 "${two[@]}" --seed 8 --out "$work/c"
cmp -s "$work/a.sigmf-data" "$work/b.sigmf-data" || fail "the same seed gives other samples"
cmp -s "$work/a.sigmf-meta" "$work/b.sigmf-meta" || fail "the same seed gives other metadata"
cmp -s "$work/a.sigmf-data" "$work/c.sigmf-data" && fail "another seed gives the same samples"
[ "$(grep -c core:label "$work/a.sigmf-meta")" -eq 6 ] || fail "not 4 + 2 annotations"
grep -q '"core:label": "9C0FFEE"' "$work/a.sigmf-meta" || fail "the second sensor has no label"
hash=$(sha512sum <"$work/a.sigmf-data" | cut -d' ' -f1)
grep -q "\"core:sha512\": \"$hash\"" "$work/a.sigmf-meta" || fail "sha512sum disagrees with the metadata"

run 0 demo-fsk-manchester --format ci16 --sample-rate 1.024M --duration 0.5 --time 2024-02-29T23:59:59.25Z --out "$work/d"
[ "$(stat -c %s "$work/d.sigmf-data")" -eq $((512000 * 4)) ] || fail "0.5 s at 1.024 MS/s in ci16 have another size"
grep -q '"core:datetime": "2024-02-29T23:59:59.250000Z"' "$work/d.sigmf-meta" || fail "wrong time"
grep -q '"core:frequency": 433792000.0' "$work/d.sigmf-meta" || fail "not tuned an eighth of the rate below the carrier"

run 64 demo-fsk-manchester
says "--out is missing"
run 64 --out "$work/x"
run 64 demo-fsk-manchester --out "$work/x" --set sensor
says "FIELD=VALUE"
run 64 demo-fsk-manchester --out "$work/x" --snr loud
run 64 demo-fsk-manchester --out "$work/x" --time yesterday
run 64 demo-fsk-manchester --out "$work/x" --seed -3
run 64 demo-fsk-manchester --out "$work/x" --copies 1.5
run 66 demo-fsk-manchestr --out "$work/x"
says "no descriptor 'demo-fsk-manchestr'"
"$program" synth --descriptors "$folder" demo-fsk-manchester --out "$work/x" --set "pressure=99 bar" 2>"$work/err"
[ $? -ge 64 ] || fail "99 bar were accepted"
says "the field holds 100 to 1120 kPa absolute"
"$program" synth --descriptors "$folder" demo-fsk-manchester --out "$work/x" --offset 90k 2>"$work/err"
[ $? -ge 64 ] || fail "a burst outside of the band was accepted"
says "outside of the recorded band"
[ -e "$work/x.sigmf-data" ] && fail "a refused recording left a file"

[ "$failures" -eq 0 ] && echo "all as expected"
exit $((failures > 0))

#!/usr/bin/env bash
# All measurements of the signal path: tables and plots into a folder, and the measured part of RESULTS.md from them. About ten
# minutes on two processors. Usage: run_report.sh BUILD [OUT [RESULTS.md]]
#   BUILD       folder of a release build with the targets of modem_report
#   OUT         for tables; default BUILD/tests/modem/report
#   RESULTS.md  page to bring up to date, its plots beside it in plots/; default: none
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
build=$(cd "$1" && pwd)
out=${2:-$build/tests/modem/report}
page=${3:-}
programs=$build/tests/modem
protocols=$top/protocols
mkdir -p "$out"

# Most memory at once: a minute at 3.2 MS/s in the widest format, with six bursts a second.
measure_memory() {
    if [ -x /usr/bin/time ]; then
        python3 "$here/make_wide_stream.py" |
            /usr/bin/time -f '%M' -o "$out/memory.txt" "$build/wheelhark" decode --quiet --format cf32 \
                --sample-rate 3.2M --centre 433.92M --descriptors "$protocols" - > "$out/memory-readings.txt"
    else
        : > "$out/memory.txt"
    fi
}

# Times first, while nothing else of this runs.
"$build/tests/bench/wheelhark_bench" "$protocols" > "$out/bench.txt"
measure_memory
(
    "$programs/report_frame_loss" 200 1 all "$out" > "$out/frame-loss.md"
    "$programs/report_frame_loss" 200 3 fsk-40 "$out" > "$out/frame-loss-3-copies.md"
    "$programs/report_frame_loss" 100 8 fsk-40 "$out" > "$out/frame-loss-8-copies.md"
    "$programs/report_confidence" "$protocols" 2400 4 14 > "$out/confidence.md"
) &
curves=$!
"$programs/report_impairments" --frames 60 > "$out/impairments.md"
"$programs/report_detection" 100 1 > "$out/detection.md"
"$programs/report_false_readings" "$protocols" 60 4 > "$out/false-readings.txt"
wait "$curves"
if [ -n "$page" ]; then
    commit=$(git -C "$top" log -1 --format=%h 2> /dev/null || echo unknown)
    python3 "$here/make_results.py" "$out" "$page" "$commit"
fi
printf 'tables and plots are in %s\n' "$out"

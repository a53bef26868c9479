#!/usr/bin/env bash
# All long measurements of this folder, tables and plots into a folder. Usage: run_report.sh PROGRAMS PROTOCOLS OUT
set -euo pipefail
programs=$1 protocols=$2 out=$3
mkdir -p "$out"
"$programs/report_frame_loss" 500 1 all "$out" > "$out/frame-loss.md"
"$programs/report_frame_loss" 300 3 fsk-40 > "$out/frame-loss-3-copies.md"
"$programs/report_frame_loss" 200 8 fsk-40 > "$out/frame-loss-8-copies.md"
"$programs/report_detection" 1000 4 > "$out/detection.md"
"$programs/report_confidence" "$protocols" 4800 4 14 "$out/readings.csv" > "$out/confidence.md"
"$programs/report_false_readings" "$protocols" 10 > "$out/false-readings.txt"
printf 'tables and plots are in %s\n' "$out"

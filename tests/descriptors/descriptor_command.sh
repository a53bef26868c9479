#!/bin/sh
# What 'wheelhark descriptor' prints and how it exits. Usage: descriptor_command.sh PROGRAM FOLDER-OF-DESCRIPTORS
set -u
program=$1
descriptors=$2
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failures=0

# expect STATUS TEXT-FILE ARGUMENTS...: exit status, and a part of the output (both streams)
expect() {
    wanted=$1
    text=$2
    shift 2
    "$program" descriptor "$@" >"$work/output" 2>&1
    status=$?
    if [ "$status" -ne "$wanted" ]; then
        printf 'descriptor %s: exit status %s, wanted %s\n' "$*" "$status" "$wanted"
        failures=$((failures + 1))
    fi
    # The wanted lines must follow each other in the output.
    if ! awk 'NR == FNR { want[++n] = $0; next }
              { have[++m] = $0 }
              END { for (i = 0; i + n <= m; i++) {
                        for (k = 1; k <= n && have[i + k] == want[k]; k++) ;
                        if (k > n) exit 0 }
                    exit 1 }' "$text" "$work/output"; then
        printf 'descriptor %s: these lines are missing\n' "$*"
        cat "$text"
        printf 'in\n'
        cat "$work/output"
        failures=$((failures + 1))
    fi
}

cd "$work" || exit 1
cp "$descriptors/demo-fsk-manchester.yaml" good.yaml
sed 's/code: manchester/code: manchestr/' good.yaml >bad.yaml
line=$(grep -n 'code: manchestr' bad.yaml | cut -d: -f1)

printf 'good.yaml: good (demo-fsk-manchester)\n' >want
expect 0 want check good.yaml

cat >want <<END
bad.yaml:$line:9: error: unknown line code 'manchestr'
    code: manchestr
          ^~~~~~~~~
  did you mean 'manchester'?
END
expect 65 want check good.yaml bad.yaml
expect 65 want show bad.yaml

printf 'bad.yaml: 1 error, 0 warnings\n' >want
expect 65 want check bad.yaml

printf 'nowhere.yaml:1:1: error: the file cannot be read: there is none of this name\n' >want
expect 66 want check nowhere.yaml

printf "wheelhark: there is no descriptor 'demo-fsk-manchestr' (did you mean 'demo-fsk-manchester'?)\n" >want
expect 66 want show -d "$descriptors" demo-fsk-manchestr

printf "wheelhark descriptor: 'chek' is none of check, list, show, try, conflicts, pack (did you mean 'check'?)\n" >want
expect 64 want chek

# The whole descriptors that the description of the format prints are good ones.
awk '/^```yaml/ { inside = 1; n++; next } /^```/ { inside = 0 } inside { print > ("block" n) }' "$descriptors/README.md"
printed=0
for block in block*; do
    if [ "$(head -n 1 "$block")" = 'wheelhark descriptor: 1' ]; then
        printed=$((printed + 1))
        printf '%s: good (%s)\n' "$block" "$(sed -n 's/^name: //p' "$block")" >want
        expect 0 want check "$block"
    fi
done
if [ "$printed" -eq 0 ]; then
    echo 'README.md prints no whole descriptor'
    failures=$((failures + 1))
fi

exit $((failures > 0))

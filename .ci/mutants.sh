#!/bin/sh
# Mutation testing: every operator, comparison, sign and constant of a package of
# the controller is changed in turn, and a test of that package must notice.
# Ends with 1 when fewer than 95 of 100 are noticed, or when one that is not is
# missing in testdata/mutation/survivors.txt. The whole takes an hour or more on
# an idle machine; one package may be named: .ci/mutants.sh alarm
set -eu
cd "$(dirname "$0")/.."
[ $# -gt 0 ] || set -- alarm pairing treatment procedure observer .
gremlins=$(go env GOPATH)/bin/gremlins
[ -x "$gremlins" ] || go install github.com/go-gremlins/gremlins/cmd/gremlins@v0.6.0

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
# What is edited meanwhile must not change what is measured.
mkdir "$work/tree"
git ls-files -co --exclude-standard | tar -cf - -T - | tar -xf - -C "$work/tree"
MUTANT_GO=$(command -v go)
MUTANT_SECONDS=30
MUTANT_TEXT='TestCoreIsNamedByItsText|TestCoreIsPure'
MUTANT_SLOW='TestCampaign|RunLengths|RandomWalks|RandomStories|ShortStory|DamagedState|TestStories|LethalityOfRamps|LessWater|WeldStays|GainIsLearned'
export MUTANT_GO MUTANT_SECONDS MUTANT_SLOW MUTANT_TEXT
export PATH="$PWD/.ci/mutants:$PATH"

# marked writes where a mutant is: file, operator, and the line with a bar before
# what was changed. The list of survivors uses the same words.
marked() { # folder of the package
  while read -r _ operator _ place; do
    file=${place%%:*} at=${place#*:}
    awk -v line="${at%:*}" -v column="${at#*:}" -v head="$1/$file: $operator: " 'NR == line {
      text = substr($0, 1, column - 1) "¦" substr($0, column)
      sub(/^[ \t]+/, "", text)
      print head text
    }' "$work/tree/$1/$file"
  done
}

code=0
for name; do
  folder=controller
  [ "$name" = . ] || folder=controller/$name
  export MUTANT_PACKAGE="./$folder" MUTANT_WORK="$work/came"
  rm -rf "$MUTANT_WORK"
  mkdir "$MUTANT_WORK"
  (cd "$work/tree" && "$gremlins" unleash --workers 1 --timeout-coefficient 200 \
    --arithmetic-base --conditionals-boundary --conditionals-negation --increment-decrement \
    --invert-assignments --invert-bitwise --invert-bwassign --invert-logical --invert-loopctrl \
    --invert-negatives --remove-self-assignments --threshold-efficacy 95 \
    $([ "$name" != . ] || echo "-E /") "./$folder" >"$work/log" 2>&1) || code=1
  grep -E '^(Killed|Timed out|Test efficacy)' "$work/log" || { cat "$work/log"; exit 1; }
  [ ! -f "$MUTANT_WORK/endless" ] || echo "of the killed, without end: $(wc -l <"$MUTANT_WORK/endless")"
  sed -n 's/^ *\(LIVED .*\)/\1/p' "$work/log" | LC_ALL=C marked "$folder" >"$work/lived"
  while read -r mutant; do
    grep -qF "$mutant	" testdata/mutation/survivors.txt || { echo "not explained: $mutant"; code=1; }
  done <"$work/lived"
done
exit $code

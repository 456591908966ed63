# SPDX-License-Identifier: Apache-2.0
# The host under valgrind: no leak, no bad access. Usage: sh valgrind_test.sh OFXHOST HOST_TEST BUNDLE
ofxhost=$1
host_test=$2
bundle=$3
if ! command -v valgrind >/dev/null 2>&1; then
  echo "skipped: valgrind is not installed"
  exit 77
fi
check() {
  echo "valgrind $*"
  valgrind -q --leak-check=full --show-leak-kinds=all --errors-for-leak-kinds=all --error-exitcode=9 "$@" >/dev/null || exit 1
}
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
check "$ofxhost" list "$bundle" --json
check "$ofxhost" params "$bundle"
check "$ofxhost" render "$bundle" --quiet --in pattern:noise --size 19x7 --frames 0-2 --press measureClip --set invert=1 \
  --tiles 5x3 --negative-stride --save "$work/p" --out "$work/o" --state-out "$work/s"
check "$ofxhost" probe "$bundle" --quiet --plugin org.evenstop.test.small --context filter
for case in properties lenient parameters cancel abort project suites; do check "$host_test" "$bundle" $case; done

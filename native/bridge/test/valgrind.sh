# SPDX-License-Identifier: Apache-2.0
# The plug-in without Java under valgrind: no bad access, nothing lost. Usage: sh valgrind.sh BRIDGE_TEST OFXHOST BUNDLE BARE WITHOUT_JAVA
if ! command -v valgrind >/dev/null 2>&1; then
  echo "skipped: valgrind is not installed"
  exit 77
fi
# Threads take turns: else one that keeps changing parameters may hold the others up for seconds.
check() {
  echo "valgrind $*"
  valgrind -q --fair-sched=try --trace-children=no --leak-check=full --show-leak-kinds=definite,indirect --errors-for-leak-kinds=definite,indirect \
    --error-exitcode=9 "$@" >/dev/null || exit 1
}
check "$1" quiet "$3"
check "$1" no-jars "$4"
check "$1" no-java "$5"
check "$1" press-without-java "$5"
check "$2" hostile "$5" --hosts 40 --seed 3

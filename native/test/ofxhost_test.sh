# SPDX-License-Identifier: Apache-2.0
# The program ofxhost from outside: output, files, exit codes. Usage: sh ofxhost_test.sh OFXHOST BUNDLE
ofxhost=$1
bundle=$2
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
checks=0
failures=0

# expect CODE COMMAND...: runs it, output in the file `said`
expect() {
  wanted=$1
  shift
  "$@" >said 2>&1
  code=$?
  checks=$((checks + 1))
  if [ $code -ne "$wanted" ]; then
    failures=$((failures + 1))
    echo "exit code $code, not $wanted: $*"
    sed 's/^/  /' said
  fi
}

# says TEXT: the last output contains it
says() {
  checks=$((checks + 1))
  grep -qF -e "$1" said && return
  failures=$((failures + 1))
  echo "not said: $1"
  sed 's/^/  /' said
}

same() {
  checks=$((checks + 1))
  cmp -s "$1" "$2" && return
  failures=$((failures + 1))
  echo "$1 and $2 differ"
}

differ() {
  checks=$((checks + 1))
  cmp -s "$1" "$2" || return 0
  failures=$((failures + 1))
  echo "$1 and $2 are the same"
}

expect 0 "$ofxhost" --help
says "ofxhost render BUNDLE --in SOURCE"
expect 2 "$ofxhost"
expect 2 "$ofxhost" dance "$bundle"
says "unknown command dance"
expect 2 "$ofxhost" list
expect 2 "$ofxhost" list "$bundle" --colour
says "unknown option --colour"
expect 2 "$ofxhost" probe "$bundle" --tiles 2x2
says "--tiles is not an option of probe"
expect 2 "$ofxhost" list "$bundle" --quiet
says "--quiet is not an option of list"
expect 2 "$ofxhost" render "$bundle"
says "needs --in and --size"
expect 2 "$ofxhost" render "$bundle" --size 0x4 --in pattern:ramp
says "--size 0x4 is not possible; give WIDTHxHEIGHT"
expect 2 "$ofxhost" render "$bundle" --in
expect 2 "$ofxhost" render "$bundle" --frames 5-2
expect 2 "$ofxhost" render "$bundle" --depth double
says "byte, short, half or float"
expect 2 "$ofxhost" render "$bundle" --set gain

expect 0 "$ofxhost" list "$bundle"
says 'org.evenstop.test.effect 1.0 "Test effect"'
says 'org.evenstop.test.small 2.3 "Test effect, small"'
expect 0 "$ofxhost" list "$bundle" --json
says '"contexts": ["OfxImageEffectContextFilter", "OfxImageEffectContextGeneral"]'
expect 0 "$ofxhost" list "$bundle"/Contents/*/TestEffect.ofx
expect 1 "$ofxhost" list nowhere.ofx.bundle
says "nowhere.ofx.bundle: no such file"
mkdir Empty.ofx.bundle
expect 1 "$ofxhost" list Empty.ofx.bundle
says "has no readable Contents/"
echo text >Text.ofx
expect 1 "$ofxhost" list Text.ofx

expect 0 "$ofxhost" params "$bundle"
says "range 0 to 4"
expect 0 "$ofxhost" params "$bundle" --json --context general
says '{"name": "gain", "type": "Double", "default": 1, "range": [0, 4]'
expect 1 "$ofxhost" params "$bundle" --plugin org.evenstop.test.small --context general
says "does not offer OfxImageEffectContextGeneral"
expect 1 "$ofxhost" params "$bundle" --plugin nobody

# A raw file of two frames, 3x2, one byte of alpha a pixel: identity copies it, whatever the layout in memory.
printf 'abcdefABCDEF' >in.raw
expect 0 "$ofxhost" render "$bundle" --in raw:in.raw --size 3x2 --depth byte --components alpha --frames 0-1 --out out.raw
says "2 asked, 0 rendered, 2 identical"
same in.raw out.raw
rm out.raw
expect 0 "$ofxhost" render "$bundle" --in raw:in.raw --size 3x2 --depth byte --components alpha --frames 0-1 \
  --out out.raw --ignore-identity --negative-stride --row-padding 7 --tiles 2x1
says "2 rendered"
same in.raw out.raw
rm out.raw
expect 1 "$ofxhost" render "$bundle" --in raw:in.raw --size 3x2 --depth byte --components alpha --frames 0-2 --out out.raw
says "12 bytes is too short"
expect 1 "$ofxhost" render "$bundle" --in raw:in.raw --size 5x1 --depth byte --components alpha --out out.raw
says "not a whole number of frames"
expect 1 "$ofxhost" render "$bundle" --in pattern:ramp --size 3x2 --depth half --out out.raw
says "does not take OfxBitDepthHalf samples"
expect 1 "$ofxhost" render "$bundle" --in pattern:ramp --size 3x2 --set gain=7
says "from 0 to 4"
expect 1 "$ofxhost" render "$bundle" --in pattern:ramp --size 3x2 --press gain
expect 1 "$ofxhost" render "$bundle" --in pattern:ramp --size 3x2 --set gain=2 --out "$work/none/out.raw"
checks=$((checks + 1))
if [ -e out.raw ] || [ -e out.raw.unfinished ]; then
  failures=$((failures + 1))
  echo "a failed run left a file"
fi

# Inverting the inverted picture gives the picture (bytes: exactly).
expect 0 "$ofxhost" render "$bundle" --in pattern:noise:5 --size 17x9 --depth byte --frames 0-3 --out plain.raw
expect 0 "$ofxhost" render "$bundle" --in raw:plain.raw --size 17x9 --depth byte --frames 0-3 --set invert=1 --out inverted.raw
differ plain.raw inverted.raw
expect 0 "$ofxhost" render "$bundle" --in raw:inverted.raw --size 17x9 --depth byte --frames 0-3 --set invert=true --out back.raw
same plain.raw back.raw

# What was measured lives in a secret parameter; a fresh process renders the same from the project file.
expect 0 "$ofxhost" render "$bundle" --in pattern:noise:5 --size 17x9 --frames 0-3 --press measureClip --set gain=0.3 \
  --save one.project --out one.raw --state-out state.json
says "pressed     measureClip: kOfxStatOK"
says "1 started, 4 updates, 0 cancelled, 1 ended"
says "[OfxMessageMessage, persistent] measured: mean of 612 samples"
expect 0 "$ofxhost" render "$bundle" --in pattern:noise:5 --size 17x9 --frames 0-3 --load one.project --save two.project --out two.raw
same one.raw two.raw
same one.project two.project
expect 0 "$ofxhost" render "$bundle" --in pattern:noise:5 --size 17x9 --frames 0-3 --set gain=0.3 --out three.raw
differ one.raw three.raw
expect 0 grep -q '"progress": {"starts": 1, "updates": 4, "ends": 1, "cancels": 0}' state.json
echo "param gain OfxParamTypeDouble 8" >>one.project
expect 1 "$ofxhost" render "$bundle" --in pattern:ramp --size 4x4 --load one.project
says "from 0 to 4"

expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --frames 0-3 --press measureClip --cancel-at 2
says "1 started, 2 updates, 1 cancelled, 1 ended"
expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set gain=2 --abort-at 3
says "1 asked, 0 rendered, 0 identical, 1 aborted"
expect 1 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set "fault=leak image"
says "1 image not released (Source at time 0)"
expect 1 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set "fault=render fails" --out failed.raw
says "1 failed: kOfxStatFailed"
expect 1 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --without OfxParameterSuite
says "Load answers kOfxStatErrMissingHostFeature"
expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set gain=2 --without OfxMultiThreadSuite
says "0 multiThread calls"

expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set gain=2 --hollow OfxMultiThreadSuite
says "0 multiThread calls"
expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --depth byte --components rgb --set gain=2 \
  --fail-fetch-at 1 --out black.raw
head -c 243 /dev/zero >zero.raw
same black.raw zero.raw
printf 'abcdefABCDEF' >in.raw
expect 0 "$ofxhost" render "$bundle" --in raw:in.raw --size 3x2 --depth byte --components alpha --clip-frames 0-1 --frames 1 \
  --out out.raw
printf ABCDEF >half.raw
same out.raw half.raw

# Random hosts notice what a plug-in does to them, go on with the next, and say which one it was. The sanitizers would end the
# process of a crash in their own way.
for fault in "leak image:returned with" "write outside:wrote outside" "hang:nothing happened for 1 s" "crash:crash"; do
  case $ASAN_OPTIONS:$fault in ?*:crash*) continue ;; esac
  export EVENSTOP_TEST_FAULT="${fault%:*}"
  expect 1 "$ofxhost" hostile "$bundle" --hosts 4 --seed 22 --patience 1
  says "${fault#*:}"
  says "FAIL seed 22 host "
  says "seed 22: 4 hosts in "
done
unset EVENSTOP_TEST_FAULT
expect 2 "$ofxhost" hostile "$bundle" --hosts 0
expect 2 "$ofxhost" hostile "$bundle" --size 3x3
expect 2 "$ofxhost" render "$bundle" --in pattern:noise --size 3x3 --hosts 3
expect 1 "$ofxhost" hostile nowhere.ofx
says "nowhere.ofx"
expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set gain=2 --frames 0-4 --out plain.raw
expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --set gain=2 --frames 0-4 --out at-once.raw \
  --frames-at-once 3 --thread-stack 256 --tiles 4x4 --tile-order 5 --thumbnail --draft --null abort
same plain.raw at-once.raw
expect 0 "$ofxhost" render "$bundle" --in pattern:noise --size 9x9 --depth byte --components alpha --set gain=2 --unconnected --out none.raw
head -c 81 /dev/zero >zero.raw
same none.raw zero.raw

expect 0 "$ofxhost" probe "$bundle" --quiet
says "0 failed"
expect 1 "$ofxhost" probe nowhere.ofx

echo "$checks checks, $failures failures"
[ $failures -eq 0 ]

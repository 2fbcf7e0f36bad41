# To be sourced: a copy of the examples to work in, helpers, and people with keys that the policy's list of signers knows.
# Wants $examples; leaves $work, the current folder.
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp -r "$examples/loads" "$examples/routines" "$examples/stations" "$examples/review" "$work"
cd "$work"
fail() {
  echo "$1" >&2
  exit 1
}
expect() {
  local code=$1
  shift
  set +e
  "$@" > answer 2>&1
  local got=$?
  set -e
  [ "$got" = "$code" ] || { cat answer >&2; fail "expected exit code $code, got $got: $*"; }
}
for person in ann bob dora eve; do
  ssh-keygen -q -t ed25519 -N '' -C "$person" -f "$person"
done
for person in ann bob dora; do
  echo "$person@tarn-ridge.example valid-after=\"20310101Z\",valid-before=\"20320101Z\",namespaces=\"cairn-plan\" $(cut -d' ' -f1,2 "$person.pub")"
done > review/allowed_signers

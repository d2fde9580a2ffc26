#!/bin/sh
# Reviews a folder of power units for a pipeline, and leaves what people and hosts read in a folder of results.
#
#   review.sh UNITS RESULTS [BASE]
#
# UNITS    the folder with the descriptions, in folders of their own or not
# RESULTS  gets review.sarif for a code-scanning host, review.md for a comment, review.json for programs; with BASE also
#          compare.md, what the change made new, worse, better, or gone
# BASE     the revision that a change is held against, such as the branch that it goes to; git must know it
#
# Ends as the review does: 2 something could not be read, else 1 a major finding, else 3 something was not judged,
# else 0. With BASE it ends so for what the change made worse alone.
set -u
units=${1:?the folder with the descriptions}
results=${2:?the folder for the results}
base=${3:-}
mkdir -p "$results" || exit 2
if [ -n "$base" ] && ! git -C "$units" rev-parse --verify --quiet "$base^{commit}" >/dev/null; then
    echo "review.sh: git knows no revision $base for $units; fetch it first" >&2
    exit 2
fi

# The graver of two exit codes.
graver() {
    for code in 2 1 3 0; do
        if [ "$1" -eq "$code" ] || [ "$2" -eq "$code" ]; then
            return "$code"
        fi
    done
    return 2
}

loadworthy review "$units" --format sarif >"$results/review.sarif"
loadworthy review "$units" --format markdown >"$results/review.md"
loadworthy review "$units" --format json >"$results/review.json"
ends=$?
loadworthy review "$units" --quiet
[ -n "$base" ] || exit "$ends"

: >"$results/compare.md"
# The descriptions that the review took, folders within the folder included; what it left out is no unit.
reviewed=$(sed -n 's/^      "file": "\(.*\)",$/\1/p' "$results/review.json" | sed 's/\\\(["\\]\)/\1/g')
# What could not be read is held against nothing, and where nothing was reviewed there is nothing to compare.
if [ "$ends" -eq 2 ] || [ -z "$reviewed" ]; then
    ends=2
else
    ends=0
fi
while IFS= read -r unit; do
    [ -n "$unit" ] || continue
    # Only what stood there before can be held against it; a new unit is judged as it is.
    if git -C "$(dirname "$unit")" cat-file -e "$base:./$(basename "$unit")" 2>/dev/null; then
        loadworthy compare "$unit" --base "$base" --only-worse --format markdown >>"$results/compare.md"
    else
        loadworthy review "$unit" --format markdown >>"$results/compare.md"
    fi
    graver "$?" "$ends"
    ends=$?
done <<END
$reviewed
END
exit "$ends"

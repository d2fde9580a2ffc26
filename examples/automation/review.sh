#!/bin/sh
# Reviews a folder of power units for a pipeline, and leaves what people and hosts read in a folder of results.
#
#   review.sh UNITS RESULTS [BASE]
#
# UNITS    the folder with the descriptions
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
ends=0
for unit in "$units"/*.yaml "$units"/*.yml; do
    # Only what stood there before can be held against it; a new unit is judged as it is.
    if [ ! -f "$unit" ]; then
        continue
    elif git cat-file -e "$base:./$unit" 2>/dev/null; then
        loadworthy compare "$unit" --base "$base" --only-worse --format markdown >>"$results/compare.md"
    else
        loadworthy review "$unit" --format markdown >>"$results/compare.md"
    fi
    graver "$?" "$ends"
    ends=$?
done
exit "$ends"

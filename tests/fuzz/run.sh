#!/usr/bin/env bash
# Fuzzes the readers of what people have, one after the other: tests/fuzz/run.sh [SECONDS] [READER...]
# Without SECONDS ten minutes each; without READER all of them. Stops at the first crash, at an input
# that takes more than 10 seconds, and at 512 MiB of memory; the input then lies in target/found.
# With KEEP=1 what the run found new is added to the corpus, made as small as it can be.
# Needs a C++ compiler, which builds libFuzzer; works on the stable toolchain.
set -euo pipefail
cd "$(dirname "$0")"
seconds=${1:-600}
shift || true
written="settings set"
counted="text cells temperature packed archive xlsx ods parquet"
# shellcheck disable=SC2086
[ $# -gt 0 ] || set -- $written $counted

export RUSTC_WRAPPER="$PWD/instrument.sh"
target=${CARGO_TARGET_DIR:-$PWD/target}
cargo build --release --features counted
found="$target/found"
mkdir -p "$found"
# what is read in passing goes to memory where there is such a place
[ -d /dev/shm ] && export TMPDIR=/dev/shm

for reader in "$@"; do
    case " $written " in
    *" $reader "*) program="$target/release/written" ;;
    *) program="$target/release/counted" ;;
    esac
    grown="$target/grown/$reader"
    mkdir -p "$grown" "corpus/$reader"
    export FUZZ_READER=$reader POLARS_MAX_THREADS=1 RAYON_NUM_THREADS=1
    limits=(-rss_limit_mb=512 -timeout=10 -max_len=65536)
    echo "== $reader, $seconds seconds"
    "$program" "${limits[@]}" "-max_total_time=$seconds" -print_final_stats=1 \
        "-artifact_prefix=$found/$reader-" "$grown" "corpus/$reader" 2>&1 |
        tee "$target/$reader.log" | grep -E '^(stat::|Done|SUMMARY|thread |==)' || true
    test "${PIPESTATUS[0]}" -eq 0
    if [ "${KEEP:-}" = 1 ]; then
        rm -rf "$target/small" && mkdir "$target/small"
        "$program" "${limits[@]}" -merge=1 "$target/small" "corpus/$reader" "$grown" 2>/dev/null
        rm -rf "corpus/$reader" && mv "$target/small" "corpus/$reader"
    fi
done

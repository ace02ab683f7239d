#!/bin/sh
# Called by cargo in place of rustc, with rustc's path before its arguments: the crates that read
# what people have are compiled so that libFuzzer sees which of their branches an input takes.
# Works on stable, as it asks for no sanitizer.
rustc=$1
shift
before='' name=''
for argument in "$@"; do
    [ "$before" = --crate-name ] && name=$argument
    before=$argument
done
case $name in
config | ingest | written | counted | calamine | zip | quick_xml | csv | csv_core | flate2 | \
    zlib_rs | encoding_rs | toml | toml_parser | polars_parquet | polars_parquet_format)
    exec "$rustc" "$@" -C passes=sancov-module \
        -C llvm-args=-sanitizer-coverage-level=4 \
        -C llvm-args=-sanitizer-coverage-inline-8bit-counters \
        -C llvm-args=-sanitizer-coverage-pc-table \
        -C llvm-args=-sanitizer-coverage-trace-compares
    ;;
*) exec "$rustc" "$@" ;;
esac

#!/usr/bin/env bash
# Makes the module that a page carries: `bash crates/live/module.sh`, or with a folder to put it elsewhere. Needs the target
# wasm32-unknown-unknown (`rustup target add wasm32-unknown-unknown`); `cargo build` does without, for the module is committed.
# With the library's source at hand (`rustup component add rust-src`) it is a fifth smaller, and answers the same.
set -eu
cd "$(dirname "$0")/../.."
out="${1:-crates/live/module}"
target="${CARGO_TARGET_DIR:-target}"
mkdir -p "$out"
# No path of the machine goes into it, and no registry's name. Of several that fit the last one counts.
home="${CARGO_HOME:-$HOME/.cargo}"
RUSTFLAGS="--remap-path-prefix=$PWD=. --remap-path-prefix=$(rustc --print sysroot)=rust --remap-path-prefix=$home=cargo"
for crates in "$home"/registry/src/*; do RUSTFLAGS+=" --remap-path-prefix=$crates=crates"; done
library=()
if [ -d "$(rustc --print sysroot)/lib/rustlib/src/rust/library" ]; then
    # A module that gives up stops; the words and places of a panic, which no page shows, are left out. Neither that nor a library
    # of one's own is stable yet: the variable says that this is known.
    export RUSTC_BOOTSTRAP=1
    RUSTFLAGS+=" -Zunstable-options -Cpanic=immediate-abort -Zlocation-detail=none"
    library=(-Zbuild-std=std,panic_abort -Zbuild-std-features=optimize_for_size)
fi
export RUSTFLAGS
cargo rustc --quiet --locked -p unladen-live --lib --crate-type staticlib --profile module --target wasm32-unknown-unknown \
    "${library[@]}"
# Linked by hand, for only what is called by name shall stay: a drawing library brings exports of its own for a page that it
# would draw on, and with them ten times the code.
made="$target/wasm32-unknown-unknown/module"
host="$(rustc --print host-tuple)"
lld="$(rustc --print sysroot)/lib/rustlib/$host/bin/rust-lld"
"$lld" -flavor wasm --no-entry --gc-sections --strip-all -z stack-size=1048576 \
    --export=input --export=output --export=open --export=frame --export=settled \
    "$made/libunladen_live.a" -o "$made/unladen.wasm"
LD_LIBRARY_PATH="$(rustc --print sysroot)/lib" "$(dirname "$lld")/rust-objcopy" --remove-section=__wasm_bindgen_unstable "$made/unladen.wasm"
gzip -9 --no-name --stdout "$made/unladen.wasm" >"$out/unladen.wasm.gz"
# What it was made of, to know when it is stale.
find crates/{vehicle,track,positions,lap,study,garage,questions,report,live}/{src,Cargo.toml} -type f \
    ! -path 'crates/live/src/page.*' ! -name worker.js | LC_ALL=C sort | xargs sha256sum | sha256sum | cut -c1-64 >"$out/sources.sha256"

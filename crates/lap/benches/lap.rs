//! Speed of the lap, its derivatives and a sweep; ratios within one run count, not seconds.

fn main() {
    divan::main();
}

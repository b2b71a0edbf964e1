//! The shipped types are sound and hold what they promise.
#![allow(clippy::unwrap_used)]

#[test]
fn every_shipped_file_reads_without_a_fault() {
    for (file, text) in machine::SHIPPED {
        if let Err(report) = machine::read(file, text) {
            panic!("{report}");
        }
    }
}

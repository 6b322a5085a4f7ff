use sweepbook_tests::circuit::Bench;
fn main() {
    let b = Bench { grid_current: true, ..Bench::default() };
    let t = b.table(&[&[("rgi", 1e16)], &[]]).unwrap();
    std::fs::write("/tmp/cx/opengrid.csv", t).unwrap();
    let b = Bench { reads_plate: true, ..Bench::default() };
    std::fs::write("/tmp/cx/sag.csv", b.table(&[&[("sag", 1500.0)], &[("sag", 1500.0)]]).unwrap()).unwrap();
    let b = Bench::default();
    std::fs::write("/tmp/cx/short.csv", b.table(&[&[("rak", 2000.0)], &[]]).unwrap()).unwrap();
    std::fs::write("/tmp/cx/leak.csv", b.table(&[&[("rak", 22e6)], &[]]).unwrap()).unwrap();
}

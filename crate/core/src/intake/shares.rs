//! A long table in shares, one for each core of the processor; whole where there is one
//! core only, as in the browser.

use std::ops::Range;

use super::survey::Surveyed;

/// Smallest share, bytes: below it cores cost more to wake than they save (some ten
/// microseconds against one millisecond of reading; judgement, no source).
const SMALLEST: usize = 256 * 1024;

/// Bytes of the shares of `text` from `start` on, each whole lines, about as many bytes each.
pub(super) fn cut(text: &Surveyed, start: usize) -> Vec<Range<usize>> {
    let length = text.text.len() - start;
    let most = cores().min(length / SMALLEST);
    // Within quotation marks a line's end is no row's.
    if most < 2 || text.has_quote(start) {
        return std::iter::once(start..text.text.len()).collect();
    }
    shared(text.text, start, most)
}

fn shared(text: &str, start: usize, most: usize) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let mut shares: Vec<Range<usize>> = Vec::with_capacity(most);
    let mut from = start;
    for share in 1..most {
        let aim = start + (bytes.len() - start) / most * share;
        if aim <= from {
            continue;
        }
        let Some(end) = bytes[aim..].iter().position(|b| matches!(b, b'\n' | b'\r')).map(|i| aim + i) else { break };
        // The two bytes of one line end stay together.
        let end = if bytes[end..].starts_with(b"\r\n") { end + 2 } else { end + 1 };
        shares.push(from..end);
        from = end;
    }
    shares.push(from..bytes.len());
    shares
}

#[cfg(not(target_arch = "wasm32"))]
fn cores() -> usize {
    rayon::current_num_threads()
}

#[cfg(target_arch = "wasm32")]
fn cores() -> usize {
    1
}

/// What `work` makes of each block of so many bytes, in their order.
#[cfg(not(target_arch = "wasm32"))]
pub(super) fn blocks<T: Send>(bytes: &[u8], block: usize, work: impl Fn(&[u8]) -> T + Sync + Send) -> Vec<T> {
    use rayon::prelude::*;
    if bytes.len() < SMALLEST {
        return bytes.chunks(block).map(work).collect();
    }
    bytes.par_chunks(block).map(work).collect()
}

/// What `work` makes of each block of so many bytes, in their order.
#[cfg(target_arch = "wasm32")]
pub(super) fn blocks<T>(bytes: &[u8], block: usize, work: impl Fn(&[u8]) -> T) -> Vec<T> {
    bytes.chunks(block).map(work).collect()
}

/// What `work` makes of each share, in their order.
#[cfg(not(target_arch = "wasm32"))]
pub(super) fn each<T: Send>(shares: &[Range<usize>], work: impl Fn(Range<usize>) -> T + Sync + Send) -> Vec<T> {
    use rayon::prelude::*;
    if let [only] = shares {
        return vec![work(only.clone())];
    }
    shares.par_iter().cloned().map(work).collect()
}

/// What `work` makes of each share, in their order.
#[cfg(target_arch = "wasm32")]
pub(super) fn each<T>(shares: &[Range<usize>], work: impl Fn(Range<usize>) -> T) -> Vec<T> {
    shares.iter().cloned().map(work).collect()
}

/// Does `work` to each.
#[cfg(not(target_arch = "wasm32"))]
pub(super) fn each_mut<T: Send>(all: &mut [T], work: impl Fn(&mut T) + Sync + Send) {
    use rayon::prelude::*;
    all.par_iter_mut().for_each(work);
}

/// Does `work` to each.
#[cfg(target_arch = "wasm32")]
pub(super) fn each_mut<T>(all: &mut [T], work: impl Fn(&mut T)) {
    all.iter_mut().for_each(work);
}

#[cfg(test)]
mod tests {
    use super::super::layout::Failure;
    use super::super::{MOST_POINTS, Mistake, Place, Reading, Stop, table};
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn shares_are_whole_lines_and_make_up_the_text(lines in proptest::collection::vec("[0-9,µ]{0,9}", 1..40), end in 0_usize..3, most in 2_usize..6, skip in 0_usize..5) {
            let end = ["\n", "\r\n", "\r"][end];
            let text = lines.join(end);
            let start = lines[..skip.min(lines.len() - 1)].iter().map(|l| l.len() + end.len()).sum();
            let shares = shared(&text, start, most);
            prop_assert!(shares.len() <= most);
            let joined: String = shares.iter().map(|s| &text[s.clone()]).collect();
            prop_assert_eq!(&joined, &text[start..]);
            for share in &shares[..shares.len() - 1] {
                prop_assert!(text[share.clone()].ends_with(end));
                prop_assert!(end != "\r\n" || !text[share.end..].starts_with('\n'));
            }
        }
    }

    /// A table long enough to be shared out, of two tubes whose rows take turns.
    fn long() -> String {
        let row = |i: usize| format!("{},100,-{}.25,{i}\n", ["A", "B"][i % 2], i % 90);
        let rows: String = (0..60_000).map(row).collect();
        format!("tube,Va [V],Vg [V],Ia [uA]\n{rows}")
    }

    fn read(text: &str) -> Result<Vec<crate::sweep::Tube>, Failure> {
        match table::read("x", &Surveyed::of(text), &Reading::default(), false) {
            Ok(table) => Ok(table.tubes),
            Err(Stop::Refused(place, mistake)) => Err((place, mistake)),
            Err(Stop::Ask(ask)) => panic!("{}", ask.what),
        }
    }

    #[test]
    fn a_table_in_shares_is_read_as_a_whole_one() {
        let text = long();
        let start = text.find('\n').unwrap() + 1;
        let shares = shared(&text, start, 3);
        assert!(shares.len() == 3 && text.len() > 3 * SMALLEST);
        let shared_out = read(&text).unwrap();
        // One quotation mark, and it is read in one go.
        let whole = read(&text.replacen("A,", "\"A\",", 1)).unwrap();
        assert_eq!(shared_out, whole);
        assert_eq!(whole.iter().map(|t| t.point_count()).sum::<usize>(), 60_000);
    }

    #[test]
    fn what_is_wrong_in_a_later_share_keeps_its_line() {
        let text = long() + "A,100,oops,1\n";
        assert_eq!(read(&text).unwrap_err().0, Place::Cell(60_002, 3));
    }

    #[test]
    fn shares_together_hold_no_more_points_than_are_read() {
        let text = format!("Va,Vg,Ia [mA]\n{}", "100,-3,0.1\n".repeat(MOST_POINTS + 1));
        assert_eq!(read(&text).unwrap_err(), (Place::File, Mistake::ManyPoints));
    }
}

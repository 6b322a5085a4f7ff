//! Nothing but the timings in `benches`: a package of its own, so that the tests need not
//! build what they are taken with.

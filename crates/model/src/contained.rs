//! Work of a library that panics where it holds its input for impossible: the panic ends here, and says nothing on
//! standard error. Readers wrap such calls and refuse the input in their own words.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::sync::Once;

thread_local! {
    /// How many calls of [`contained`] this thread is in.
    static DEPTH: Cell<u32> = const { Cell::new(0) };
}

/// What `work` gives, or `None` when it panics. The panics of other threads, and of this one elsewhere, are reported
/// as ever.
///
/// ```
/// use checkstrip_model::contained;
/// assert_eq!(contained(|| 2 + 2), Some(4));
/// assert_eq!(contained(|| -> u32 { panic!("impossible") }), None);
/// ```
pub fn contained<T>(work: impl FnOnce() -> T) -> Option<T> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let report = take_hook();
        set_hook(Box::new(move |panic| {
            if DEPTH.get() == 0 {
                report(panic);
            }
        }));
    });
    DEPTH.set(DEPTH.get() + 1);
    let done = catch_unwind(AssertUnwindSafe(work));
    DEPTH.set(DEPTH.get() - 1);
    done.ok()
}

//! What is pressed, typed and chosen is done one after another: each finds the job as the one before it has left it.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;

use wasm_bindgen_futures::spawn_local;

use super::store::Later;

thread_local! {
    static WAITING: RefCell<VecDeque<Later<'static, ()>>> = const { RefCell::new(VecDeque::new()) };
    static BUSY: Cell<bool> = const { Cell::new(false) };
}

/// Does something once all is done that came before it.
pub(super) fn then(what: impl Future<Output = ()> + 'static) {
    WAITING.with_borrow_mut(|waiting| waiting.push_back(Box::pin(what)));
    if BUSY.replace(true) {
        return;
    }
    spawn_local(async {
        while let Some(next) = WAITING.with_borrow_mut(VecDeque::pop_front) {
            next.await;
        }
        BUSY.set(false);
    });
}

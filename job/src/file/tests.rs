use super::*;
use crate::record::From;
use crate::{Job, Time};

#[test]
fn smoke() {
    let mut job = Job::new("a", "b", Time::default());
    job.set("load", "8", From::Typed, Time::default()).unwrap();
    let text = write(&job);
    eprintln!("{text}");
    assert_eq!(read(&text).unwrap(), job);
}

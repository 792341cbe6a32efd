//! Looks on from outside.

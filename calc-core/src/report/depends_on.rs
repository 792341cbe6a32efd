//! On which fields an answer or a verdict depends.

use crate::form::field::Field;

/// The fields on which an answer or a verdict depends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DependsOn {
    /// All that are asked.
    All,
    /// Of those that may be off, the ones that moved its margin ([`crate::margin::Margin::movers`]); and all others.
    Movers(u64),
    /// These alone, by their ids.
    Fields(&'static [&'static str]),
}

impl DependsOn {
    /// Whether this field is one of them; `moved` is its place among the fields that were moved for the margins, if it was.
    pub(crate) fn has(self, field: &Field, moved: Option<usize>) -> bool {
        match self {
            Self::All => true,
            Self::Fields(ids) => ids.contains(&field.id),
            Self::Movers(movers) => {
                let bit = |at| 1_u64.checked_shl(u32::try_from(at).unwrap_or(64)).unwrap_or(u64::MAX);
                moved.is_none_or(|at| movers & bit(at) != 0)
            }
        }
    }
}

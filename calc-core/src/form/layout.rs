//! How the fields of a calculator are laid out: in sections, what is seldom changed apart. Data beside each calculator.

use super::field::Field;

/// A section of a calculator's form: what belongs together.
#[derive(Debug, PartialEq, Eq)]
pub struct Section {
    /// Its heading in the form.
    pub name: &'static str,
    /// The ids of its fields, first what a reader changes first. Those that are not asked are passed over.
    pub fields: &'static [&'static str],
    /// The ids of those that are seldom changed.
    pub more: &'static [&'static str],
}

/// A section with its fields as they now stand.
#[derive(Debug, PartialEq, Eq)]
pub struct Filled<'f> {
    /// The section's heading.
    pub name: &'static str,
    /// Its place in the form, from 0, whichever fields are asked.
    pub place: usize,
    /// Those of its fields that were asked with the choices made.
    pub fields: Vec<&'f Field>,
    /// Those that are seldom changed.
    pub more: Vec<&'f Field>,
}

impl Filled<'_> {
    /// How many of the values that are seldom changed, and of all tolerances, are the reader's own.
    #[must_use]
    pub fn changed(&self) -> usize {
        let own = self.more.iter().filter(|field| field.is_changed()).count();
        let off = self.fields.iter().chain(&self.more).filter_map(|field| field.tolerance.as_ref());
        own + off.filter(|tolerance| tolerance.is_changed).count()
    }
}

/// The sections that have fields to show. A field that no section names is in the last one: none is lost.
#[must_use]
pub fn filled<'f>(form: &'static [Section], fields: &'f [Field]) -> Vec<Filled<'f>> {
    let of = |ids: &[&str]| ids.iter().filter_map(|id| fields.iter().find(|field| field.id == *id)).collect();
    let sections = form.iter().enumerate();
    let mut filled: Vec<Filled> = sections
        .map(|(place, section)| Filled {
            name: section.name,
            place,
            fields: of(section.fields),
            more: of(section.more),
        })
        .filter(|section| !section.fields.is_empty() || !section.more.is_empty())
        .collect();
    if let Some(last) = filled.last_mut() {
        let named =
            |id: &str| form.iter().any(|section| section.fields.contains(&id) || section.more.contains(&id));
        last.fields.extend(fields.iter().filter(|field| !named(field.id)));
    }
    filled
}

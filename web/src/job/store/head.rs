//! What the list of jobs shows of each, kept beside it.

use job::{Job, Time};
use serde::{Deserialize, Serialize};
use wasm_bindgen::JsValue;

use super::database::HEADS;
use super::{Store, head_in, put, read, texts};

/// What the list shows of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// When it last changed.
    pub changed: Time,
    /// How often it was changed. A clock is no measure of that: two changes may fall into one second, and it can be set back.
    #[serde(default)]
    pub revision: u64,
    /// The revision that was last exported.
    #[serde(default, rename = "exported_revision", skip_serializing_if = "Option::is_none")]
    pub exported: Option<u64>,
    /// The state that was last exported, by the time of its last change: so editions before revisions were counted have it.
    #[serde(default, rename = "exported", skip_serializing)]
    exported_state: Option<Time>,
}

impl Head {
    /// The head of a job that is in no store yet, or was changed once more since `before`. What was exported before stays so.
    #[must_use]
    pub fn next(job: &Job, before: Option<&Self>) -> Self {
        Self {
            id: job.id.clone(),
            label: job.label.clone(),
            changed: job.changed,
            revision: before.map_or(0, |before| before.revision) + 1,
            exported: before.and_then(|before| before.exported),
            exported_state: None,
        }
    }

    /// One that an edition without revisions wrote, with its first: what such an edition writes next has none again.
    #[must_use]
    pub(super) fn counted(mut self) -> Self {
        if self.revision == 0 {
            (self.revision, self.exported) = (1, self.exported.map(|_| 1));
        }
        self
    }

    /// Whether it has changed since it was exported.
    #[must_use]
    pub fn is_owing(&self) -> bool {
        self.exported != Some(self.revision)
    }

    /// Reads it from the store; `None` of what is none.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let mut head: Self = serde_json::from_str(text).ok()?;
        let state = head.exported_state.take();
        // One that an edition without revisions wrote has none, and what was exported is its only state or an older one.
        if head.exported.is_none() && head.revision == 0 && state == Some(head.changed) {
            head.exported = Some(0);
        }
        Some(head)
    }

    /// As it is in the store.
    #[must_use]
    pub fn written(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

impl Store {
    /// The jobs, the one that changed last first.
    pub async fn heads(&self) -> Vec<Head> {
        let kept = self.0.connection.all(HEADS).await;
        let kept = kept.unwrap_or_else(|why| {
            self.0.fault.borrow_mut().get_or_insert(why);
            Vec::new()
        });
        let kept = kept.iter().filter_map(JsValue::as_string);
        let mut heads: Vec<Head> = kept.filter_map(|text| Head::read(&text)).collect();
        for job in self.0.unkept.borrow().values().filter_map(|unkept| read(&unkept.text).ok()) {
            heads.retain(|head| head.id != job.id);
            heads.push(Head::next(&job, None));
        }
        // By insertion: a sort is five kilobytes of WebAssembly, and the jobs of a bench are some hundreds.
        let mut sorted: Vec<Head> = Vec::with_capacity(heads.len());
        for head in heads {
            let place = sorted.partition_point(|other| other.changed > head.changed);
            sorted.insert(place, head);
        }
        sorted
    }

    /// Notes that a revision of a job was exported.
    pub async fn exported(&self, id: &str, revision: u64) {
        let step = |found| {
            let [head] = texts(found);
            let Some(mut head) = head_in(head.as_deref()) else { return vec![] };
            head.exported = Some(revision);
            vec![put(HEADS, id, &head.written())]
        };
        // Where it is refused, the list goes on asking for an export.
        if self.0.connection.change(&[(HEADS, id)], 0, &step).await.is_ok() {
            self.tell(id);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exported_is_a_count_of_changes_and_not_a_time() {
        let at = Time::from_seconds(7);
        let job = Job::new("j", "Head", at);
        let mut head = Head::next(&job, None);
        assert!(head.is_owing());
        head.exported = Some(head.revision);
        assert!(!head.is_owing());
        // Another change in the same second.
        let later = Head::read(&Head::next(&job, Some(&head)).written()).expect("a head");
        assert!(later.is_owing(), "{later:?}");
        assert_eq!((later.revision, later.exported), (2, Some(1)));
    }

    #[test]
    fn what_an_edition_without_revisions_wrote_is_read() {
        let text = |exported: &str| {
            format!(
                "{{\"id\":\"j\",\"label\":\"Head\",\"changed\":\"2026-11-25T21:11:02Z\",\"exported\":{exported}}}"
            )
        };
        let is_owing = |exported: &str| Head::read(&text(exported)).expect("a head").is_owing();
        assert!(!is_owing("\"2026-11-25T21:11:02Z\""));
        assert!(is_owing("\"2026-11-25T21:11:01Z\"") && is_owing("null"));
    }
}

//! Jobs out to files and in from them, photographs inside.

use job::{Job, file};
use wasm_bindgen_futures::JsFuture;
use web_sys::Blob;

use super::photo;
use super::store::{Fault, Store};

/// What a job's file is.
pub(super) const MEDIA: &str = "application/json";

/// The name of a job's file: its own name in plain letters, and the day.
pub(super) fn name(job: &Job, ending: &str) -> String {
    file::name(job, ending)
}

/// The text of a job's file, its photographs inside; `told` hears how far that is.
pub(super) async fn text(store: &Store, job: &Job, told: &dyn Fn(&str)) -> String {
    let mut whole = job.clone();
    let all = whole.photos.len();
    for (taken, number) in whole.photos.iter_mut().zip(1_usize..) {
        told(&format!("Putting photograph {number} of {all} into the file …"));
        if let Some(picture) = store.photo(&job.id, &taken.id).await {
            taken.bytes = photo::in_base64(&picture);
        }
    }
    file::write(&whole)
}

/// What came of an import.
pub(super) struct Came {
    /// The job as it is on this device.
    pub(super) job: Job,
    /// How many of its pictures found no room.
    pub(super) lost: usize,
    /// Whether it is on disk.
    pub(super) is_kept: bool,
    /// What of the file is not in it as the file says, and why.
    pub(super) doubts: Vec<String>,
}

impl Came {
    /// What happened, as a sentence for the reader.
    pub(super) fn said(&self) -> String {
        let Self { job, lost, is_kept, doubts } = self;
        let mut said = vec![if *lost > 0 {
            format!(
                "Imported “{}”, but {lost} of its photographs found no room on this device. Keep the file.",
                job.label
            )
        } else {
            format!("Imported “{}”.", job.label)
        }];
        if !is_kept {
            said.push("It is in this page only: see above. Keep the file.".to_owned());
        }
        if job.readings.iter().any(|taken| taken.from_file) {
            said.push(
                "Its readings open no gate until their procedure is opened and judges them again.".to_owned(),
            );
        }
        said.extend(doubts.iter().cloned());
        said.join(" ")
    }
}

/// Takes a job in from a file: the whole of it, or nothing and why; what in it cannot be is left out, and said. `told` hears how
/// far that is.
pub(super) async fn import(store: &Store, chosen: &Blob, told: &dyn Fn(&str)) -> Result<Came, String> {
    told("Reading the file …");
    let untouched = |refused| format!("Nothing was imported and nothing has changed: {refused}.");
    file::fits(chosen.size()).map_err(untouched)?;
    let bytes =
        JsFuture::from(chosen.array_buffer()).await.map_err(|_| "The browser cannot read this file.")?;
    let bytes = js_sys::Uint8Array::new(&bytes).to_vec();
    let file::Imported { mut job, doubts } = file::import(&bytes).map_err(untouched)?;
    let mut pictures = Vec::new();
    for taken in &mut job.photos {
        if let Some(text) = taken.bytes.take() {
            let size = u32::try_from(text.len()).unwrap_or(u32::MAX);
            let picture = photo::from_base64(&text).ok_or_else(|| {
                format!(
                    "Nothing was imported and nothing has changed: the picture “{}” in the file is damaged.",
                    taken.caption
                )
            })?;
            pictures.push((taken.clone(), picture, size));
        }
    }
    let there = |why: Fault| {
        format!(
            "Nothing was imported and nothing has changed: this job is on the device already. {why} Save its text, delete it here, then import the file."
        )
    };
    let job = store.add(job).await.map_err(there)?;
    let mut lost = 0;
    let all = pictures.len();
    for ((taken, picture, size), number) in pictures.into_iter().zip(1_usize..) {
        told(&format!("Keeping photograph {number} of {all} …"));
        // One that was removed here stays away.
        if job.photos.iter().any(|photo| photo.id == taken.id && job.stands(photo))
            && !store.keep_photo(&job.id, &taken, picture, size).await
        {
            lost += 1;
        }
    }
    let is_kept = store.is_kept(&job.id);
    Ok(Came { job, lost, is_kept, doubts })
}

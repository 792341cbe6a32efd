//! The pictures of photographs, beside their jobs.

use job::Photo;
use wasm_bindgen::JsValue;

use super::Store;
use super::database::{PHOTOS, Write};

impl Store {
    /// Keeps the picture of a photograph, of so many bytes. Whether it is on disk.
    pub async fn keep_photo(&self, job: &str, photo: &Photo, picture: JsValue, size: u32) -> bool {
        let key = photo_key(job, &photo.id);
        let step = |_| vec![Write::Put(PHOTOS, key.clone(), picture.clone())];
        self.0.connection.change(&[], size, &step).await.is_ok()
    }

    /// Takes the picture of a photograph off this device.
    pub async fn forget_photo(&self, job: &str, photo: &str) {
        let key = photo_key(job, photo);
        // One that stays is shown nowhere, and goes with its job.
        drop(self.0.connection.change(&[], 0, &|_| vec![Write::Delete(PHOTOS, key.clone())]).await);
    }

    /// The picture of a photograph.
    pub async fn photo(&self, job: &str, photo: &str) -> Option<JsValue> {
        let found = self.0.connection.read(&[(PHOTOS, &photo_key(job, photo))]).await;
        found.ok()?.into_iter().next().filter(JsValue::is_object)
    }
}

fn photo_key(job: &str, photo: &str) -> String {
    format!("{job}/{photo}")
}

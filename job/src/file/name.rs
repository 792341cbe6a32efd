//! What a file of a job is called.

use crate::Job;

/// More letters of a name than this are left out: some disks take no more than 255 bytes.
const LETTERS: usize = 60;

/// The name of a job's file: its own name in letters and digits of any script, and the day. One without any, as `!!`, is
/// told apart by the job's id.
#[must_use]
pub fn name(job: &Job, ending: &str) -> String {
    let label = job.label.to_ascii_lowercase();
    let parts = label.split(|letter: char| !letter.is_alphanumeric()).filter(|part| !part.is_empty());
    let named: String = parts.collect::<Vec<_>>().join("-").chars().take(LETTERS).collect();
    let named = if named.is_empty() { job.id.get(..8).unwrap_or(&job.id) } else { &named };
    format!("job-{named}-{}.{ending}", job.changed.date())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Time;

    fn named(label: &str) -> String {
        name(&Job::new("0a1b2c3d4e5f", label, Time::from_seconds(1_795_641_062)), "json")
    }

    /// All but the first were once `job--2026-11-25.json`.
    #[test]
    fn jobs_in_any_script_have_names_that_tell_them_apart() {
        assert_eq!(named(" Two-valve head, 2nd / (blue)"), "job-two-valve-head-2nd-blue-2026-11-25.json");
        assert_eq!(named("Ламповый 2"), "job-Ламповый-2-2026-11-25.json");
        assert_eq!(named("真空管"), "job-真空管-2026-11-25.json");
        assert_eq!(named("é"), "job-é-2026-11-25.json");
        assert_eq!(named("🎸 \u{202e}"), "job-0a1b2c3d-2026-11-25.json");
    }

    #[test]
    fn a_disk_takes_it() {
        assert!(named(&"真".repeat(1_000)).len() < 255);
    }
}

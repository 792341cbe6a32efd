//! A moment, to the second, written as ISO 8601 in UTC: `2026-11-25T21:11:02Z`. The clock is the caller's.
//!
//! ```
//! use job::Time;
//! let moment = Time::read("2026-11-25T21:11:02Z").unwrap();
//! assert_eq!(moment.seconds(), 1_795_641_062);
//! assert_eq!(moment.to_string(), "2026-11-25T21:11:02Z");
//! ```

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error};
use serde::ser::{Serialize, Serializer};

/// Seconds since the beginning of 1970, UTC, leap seconds not counted. Within the years 1970 to 9999.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Time(u64);

const DAY: u64 = 86_400;
/// The last second of the year 9999: the last that four digits can write.
const LAST: u64 = 253_402_300_799;

impl Time {
    /// From seconds since 1970; what lies beyond the year 9999 becomes its last second.
    #[must_use]
    pub const fn from_seconds(seconds: u64) -> Self {
        Self(if seconds > LAST { LAST } else { seconds })
    }

    /// From milliseconds since 1970, as a browser's clock gives them.
    #[must_use]
    pub fn from_millis(millis: f64) -> Self {
        // Negative and not-a-number become the beginning, what is too large the end.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Self::from_seconds((millis / 1000.0) as u64)
    }

    /// Seconds since 1 January 1970, UTC.
    #[must_use]
    pub const fn seconds(self) -> u64 {
        self.0
    }

    /// Whole seconds from `earlier` to this; none if it is not earlier.
    #[must_use]
    pub const fn since(self, earlier: Self) -> u64 {
        self.0.saturating_sub(earlier.0)
    }

    /// Reads `2026-11-25T21:11:02Z`; nothing else is a time.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let number = |from: usize, to: usize| -> Option<u64> {
            let digits = text.get(from..to)?;
            digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| digits.parse().ok())?
        };
        let marks = [(4, "-"), (7, "-"), (10, "T"), (13, ":"), (16, ":"), (19, "Z")];
        if text.len() != 20 || marks.iter().any(|(at, mark)| text.get(*at..at + 1) != Some(mark)) {
            return None;
        }
        let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
        let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
        let right = year >= 1970
            && (1..=12).contains(&month)
            && (1..=days_in(year, month)).contains(&day)
            && hour < 24
            && minute < 60
            && second < 60;
        if !right {
            return None;
        }
        let months = (1..month).map(|month| days_in(year, month)).sum::<u64>();
        let days = days_before_year(year) + months + day - 1;
        Some(Self(days * DAY + hour * 3600 + minute * 60 + second))
    }

    /// The date alone, `2026-11-25`.
    #[must_use]
    pub fn date(self) -> String {
        self.to_string().chars().take(10).collect()
    }
}

impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (mut days, second) = (self.0 / DAY, self.0 % DAY);
        // No year is shorter than 365 days, so the guess is never too early.
        let mut year = 1970 + days / 365;
        while days_before_year(year) > days {
            year -= 1;
        }
        days -= days_before_year(year);
        let mut month = 1;
        while days >= days_in(year, month) {
            days -= days_in(year, month);
            month += 1;
        }
        let (hour, minute) = (second / 3600, second / 60 % 60);
        write!(f, "{year:04}-{month:02}-{:02}T{hour:02}:{minute:02}:{:02}Z", days + 1, second % 60)
    }
}

const fn is_leap(year: u64) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

const fn days_in(year: u64, month: u64) -> u64 {
    match month {
        2 => 28 + is_leap(year) as u64,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from 1970 to the beginning of the year (which is at least 1970).
const fn days_before_year(year: u64) -> u64 {
    let before = year - 1;
    (year - 1970) * 365 + (before / 4 - before / 100 + before / 400) - (1969 / 4 - 1969 / 100 + 1969 / 400)
}

impl Serialize for Time {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Time {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::read(&text).ok_or_else(|| {
            D::Error::custom(format!("“{text}” is not a time; write it as 2026-11-25T21:11:02Z"))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Seconds by GNU date (coreutils 9.1): `date -u -d 2000-02-29T23:59:59Z +%s` and so on.
    #[test]
    fn agrees_with_date_of_gnu() {
        for (text, seconds) in [
            ("1970-01-01T00:00:00Z", 0),
            ("2000-02-29T23:59:59Z", 951_868_799),
            ("2026-11-25T21:11:02Z", 1_795_641_062),
            ("2100-03-01T00:00:00Z", 4_107_542_400),
            ("9999-12-31T23:59:59Z", 253_402_300_799),
        ] {
            assert_eq!(Time::read(text), Some(Time::from_seconds(seconds)), "{text}");
            assert_eq!(Time::from_seconds(seconds).to_string(), text);
        }
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in [
            "",
            "2026-11-25",
            "2026-11-25T21:11:02",
            "2026-11-25t21:11:02Z",
            "2026-13-01T00:00:00Z",
            "2026-02-29T00:00:00Z",
            "2026-11-00T00:00:00Z",
            "2026-11-25T24:00:00Z",
            "1969-12-31T23:59:59Z",
            "+026-11-25T21:11:02Z",
            "2026-11-25T21:11:0éZ",
        ] {
            assert_eq!(Time::read(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(seconds in 0..=LAST) {
            let time = Time::from_seconds(seconds);
            prop_assert_eq!(Time::read(&time.to_string()), Some(time));
        }
    }
}

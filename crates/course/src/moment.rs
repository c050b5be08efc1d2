//! A moment as people and files write it. No clock is read here: the moment is always an argument.

/// A moment with the difference of local time from UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Moment {
    /// Milliseconds since 1970-01-01T00:00:00Z; moments outside the years 1 to 9999 are written as the nearest of those.
    pub unix_ms: i64,
    /// Local time minus UTC, minutes; beyond 14 hours it is taken for 14 hours.
    pub offset_min: i32,
}

/// A moment on the local calendar (Gregorian, also before its time) and clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the fields of a calendar and a clock")]
pub struct Local {
    pub year: i64,
    pub month: i64,
    pub day: i64,
    pub hour: i64,
    pub minute: i64,
    pub second: i64,
}

const DAY_MS: i64 = 86_400_000;

impl Moment {
    /// The local calendar and clock.
    #[must_use]
    pub fn local(self) -> Local {
        // The first and the last second of four-digit years, UTC.
        let (first, last) = (-62_135_596_800_000, 253_402_300_799_000);
        let ms = (self.unix_ms.clamp(first, last) + i64::from(self.offset()) * 60_000)
            .clamp(first, last);
        let (days, of_day) = (ms.div_euclid(DAY_MS), ms.rem_euclid(DAY_MS) / 1000);
        let (year, month, day) = civil(days);
        Local {
            year,
            month,
            day,
            hour: of_day / 3600,
            minute: of_day / 60 % 60,
            second: of_day % 60,
        }
    }

    /// "20261125", DICOM value representation DA (PS3.5 6.2).
    #[must_use]
    pub fn dicom_date(self) -> String {
        let local = self.local();
        format!("{:04}{:02}{:02}", local.year, local.month, local.day)
    }

    /// "094501", DICOM value representation TM (PS3.5 6.2).
    #[must_use]
    pub fn dicom_time(self) -> String {
        let local = self.local();
        format!("{:02}{:02}{:02}", local.hour, local.minute, local.second)
    }

    /// "+0100", DICOM Timezone Offset From UTC (0008,0201).
    #[must_use]
    pub fn dicom_offset(self) -> String {
        let offset = self.offset();
        let sign = if offset < 0 { '-' } else { '+' };
        format!("{sign}{:02}{:02}", offset.abs() / 60, offset.abs() % 60)
    }

    /// "2026-11-25 09:45:01" by the local clock, for people.
    #[must_use]
    pub fn words(self) -> String {
        let local = self.local();
        format!(
            "{:04}-{:02}-{:02} {:02}:{:02}:{:02}",
            local.year, local.month, local.day, local.hour, local.minute, local.second
        )
    }

    /// "2026-11-25T09:45:01+01:00", RFC 3339.
    #[must_use]
    pub fn iso(self) -> String {
        let offset = self.dicom_offset();
        let (hours, minutes) = offset.split_at(3);
        format!("{}{hours}:{minutes}", self.words().replace(' ', "T"))
    }

    /// Reads what [`Moment::iso`] writes: RFC 3339, with `Z` or an offset, fractions of a second to the millisecond.
    #[must_use]
    pub fn from_iso(text: &str) -> Option<Self> {
        let (date, rest) = text.split_once(['T', 't', ' '])?;
        let at = rest.find(['Z', 'z', '+', '-'])?;
        let (clock, zone) = rest.split_at(at);
        let (clock, fraction) = clock.split_once('.').unwrap_or((clock, "0"));
        let [year, month, day] = numbers(date, '-')?;
        let [hour, minute, second] = numbers(clock, ':')?;
        let offset_min = match zone {
            "Z" | "z" => 0,
            _ => {
                let [hours, minutes] = numbers(&zone[1..], ':')?;
                let offset = hours * 60 + minutes;
                i32::try_from(if zone.starts_with('-') {
                    -offset
                } else {
                    offset
                })
                .ok()?
            }
        };
        let days = days_of(year, month, day);
        if civil(days) != (year, month, day)
            || hour > 23
            || minute > 59
            || second > 60
            || offset_min.abs() > 14 * 60
            || !fraction.bytes().all(|b| b.is_ascii_digit())
        {
            return None;
        }
        let ms: i64 = format!("{fraction:0<3}").get(..3)?.parse().ok()?;
        let of_day = ((hour * 60 + minute - i64::from(offset_min)) * 60 + second) * 1000 + ms;
        Some(Self {
            unix_ms: days * DAY_MS + of_day,
            offset_min,
        })
    }

    fn offset(self) -> i32 {
        self.offset_min.clamp(-14 * 60, 14 * 60)
    }
}

/// Year, month and day of a count of days since 1970-01-01, by counting from 1 March in eras of 400 years, so that the
/// leap day is the last of its year.
fn civil(days: i64) -> (i64, i64, i64) {
    let since_march = days + 719_468;
    let era = since_march.div_euclid(146_097);
    let of_era = since_march.rem_euclid(146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 {
        month_from_march + 3
    } else {
        month_from_march - 9
    };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    (year, month, day)
}

/// Days since 1970-01-01 of a date: the inverse of [`civil`].
fn days_of(year: i64, month: i64, day: i64) -> i64 {
    let year = year - i64::from(month <= 2);
    let (era, of_era) = (year.div_euclid(400), year.rem_euclid(400));
    let from_march = (month + 9) % 12;
    let of_year = (153 * from_march + 2) / 5 + day - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// Exactly `N` whole numbers of at most four digits.
fn numbers<const N: usize>(text: &str, between: char) -> Option<[i64; N]> {
    let mut found = [0; N];
    let mut parts = text.split(between);
    for slot in &mut found {
        let part = parts.next()?;
        let plain = (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        *slot = part.parse().ok().filter(|_| plain)?;
    }
    parts.next().is_none().then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_moments() {
        // Python's datetime.fromtimestamp(ms / 1000, timezone(timedelta(minutes=offset))).
        for (unix_ms, offset_min, iso) in [
            (0, 0, "1970-01-01T00:00:00+00:00"),
            (951_782_400_000, 0, "2000-02-29T00:00:00+00:00"),
            (1_795_596_301_999, 60, "2026-11-25T09:45:01+01:00"),
            (1_795_596_301_000, -210, "2026-11-25T05:15:01-03:30"),
            (4_107_542_399_000, 0, "2100-02-28T23:59:59+00:00"),
            (4_107_542_400_000, 0, "2100-03-01T00:00:00+00:00"),
            (-1, 0, "1969-12-31T23:59:59+00:00"),
            (i64::MIN, 0, "0001-01-01T00:00:00+00:00"),
            (i64::MAX, 900, "9999-12-31T23:59:59+14:00"),
        ] {
            let moment = Moment {
                unix_ms,
                offset_min,
            };
            assert_eq!(moment.iso(), iso, "{unix_ms} {offset_min}");
            if (0..=9_000_000_000_000).contains(&unix_ms) {
                let back = Moment::from_iso(iso).expect("what was written");
                assert_eq!(back.unix_ms, unix_ms - unix_ms.rem_euclid(1000), "{iso}");
                assert_eq!(back.offset_min, offset_min, "{iso}");
            }
        }
        let moment = Moment {
            unix_ms: 1_795_596_301_999,
            offset_min: 60,
        };
        assert_eq!(moment.dicom_date(), "20261125");
        assert_eq!(moment.dicom_time(), "094501");
        assert_eq!(moment.dicom_offset(), "+0100");
        assert_eq!(moment.words(), "2026-11-25 09:45:01");
    }

    #[test]
    fn moments_that_are_none() {
        for text in [
            "",
            "2026-02-29T00:00:00Z",
            "2026-13-01T00:00:00Z",
            "2026-01-01T24:00:00Z",
            "2026-01-01T00:00:00",
            "2026-01-01T00:00:00+15:00",
            "2026-01-01T00:00Z",
            "2026-01-01T00:00:00.xZ",
            "99999-01-01T00:00:00Z",
            "2026-01-01T00:00:00+é1:00",
        ] {
            assert_eq!(Moment::from_iso(text), None, "{text}");
        }
        let fraction = Moment::from_iso("2026-11-25T09:45:01.5+01:00");
        assert_eq!(
            fraction.map(|moment| moment.unix_ms),
            Some(1_795_596_301_500)
        );
    }
}

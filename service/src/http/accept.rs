//! What a client would like to be answered with: the `Accept` field (RFC 9110, section 12.5.1).
//!
//! `mediatype` reads the grammar: lists, quoted texts, parameters. What is weighed here is which range speaks for a media type, and
//! which of several media types is wanted most.

use std::cmp::Reverse;

use axum::http::{HeaderMap, header};
use mediatype::{MediaType, MediaTypeList, Name, ReadParams, names};

/// How much a media type is wanted, in thousandths; 0 is not at all (RFC 9110, section 12.4.2).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Weight(u16);

impl Weight {
    const FULL: Weight = Weight(1000);

    /// `0` or `1`, with up to three decimals.
    fn read(text: &str) -> Option<Weight> {
        let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
        if decimals.len() > 3 || !decimals.bytes().all(|digit| digit.is_ascii_digit()) {
            return None;
        }
        let thousandths = format!("{decimals:0<3}").parse().ok()?;
        match (whole, thousandths) {
            ("0", thousandths) => Some(Weight(thousandths)),
            ("1", 0) => Some(Weight::FULL),
            _ => None,
        }
    }
}

/// One element of the field: a media type, or all types of one kind, or all.
struct Range<'a> {
    media: MediaType<'a>,
    weight: Weight,
}

/// How closely a range describes a media type: more is closer. By the RFC's precedence a range with a subtype comes before one
/// without, and one with parameters before one without.
type Closeness = (u8, usize);

impl<'a> Range<'a> {
    /// `None` for what is no media range.
    fn read(media: MediaType<'a>) -> Option<Range<'a>> {
        if media.ty == names::_STAR && media.subty != names::_STAR {
            return None;
        }
        let weight = match media.get_param(names::Q) {
            Some(told) => Weight::read(told.as_str())?,
            None => Weight::FULL,
        };
        Some(Range { media, weight })
    }

    /// `None` where the range does not describe the media type.
    fn closeness(&self, media: &MediaType<'_>) -> Option<Closeness> {
        let any = |name: Name<'_>| name == names::_STAR;
        let named = match (any(self.media.ty), any(self.media.subty)) {
            (true, _) => 0,
            (false, true) if self.media.ty == media.ty => 1,
            (false, false) if self.media.essence() == media.essence() => 2,
            _ => return None,
        };
        let mut parameters = 0;
        for (name, value) in self.media.params().filter(|(name, _)| *name != names::Q) {
            let value = value.unquoted_str();
            // Of the parameters that exist here each is written without regard to case.
            let same = media
                .get_param(name)
                .is_some_and(|own| own.unquoted_str().eq_ignore_ascii_case(&value));
            if !same {
                return None;
            }
            parameters += 1;
        }
        Some((named, parameters))
    }
}

/// The field as it was sent, its lines joined (RFC 9110, section 5.3); empty where there is none. A line that is no text is passed over.
pub(super) fn field(headers: &HeaderMap) -> String {
    let lines = headers.get_all(header::ACCEPT).iter();
    let lines: Vec<&str> = lines.filter_map(|line| line.to_str().ok()).collect();
    lines.join(", ")
}

/// Which of the media types is wanted most: the one of the greatest weight; of equal ones, the one that is named more closely,
/// so that `text/csv, */*` brings a cut list; of those, the one that is offered first. `None` where none is wanted.
///
/// An element that cannot be read is passed over. Where nothing is left everything is welcome, as it is without the field.
pub(super) fn choose(field: &str, offered: &[MediaType<'_>]) -> Option<usize> {
    let ranges: Vec<Range<'_>> = MediaTypeList::new(field)
        .filter_map(|element| Range::read(element.ok()?))
        .collect();
    if ranges.is_empty() {
        return (!offered.is_empty()).then_some(0);
    }
    offered
        .iter()
        .enumerate()
        .filter_map(|(place, media)| {
            let (closeness, weight) = weighed(&ranges, media)?;
            (weight > Weight(0)).then_some((weight, closeness, Reverse(place)))
        })
        .max()
        .map(|(_, _, Reverse(place))| place)
}

/// What the closest range says of a media type.
fn weighed(ranges: &[Range<'_>], media: &MediaType<'_>) -> Option<(Closeness, Weight)> {
    ranges
        .iter()
        .filter_map(|range| Some((range.closeness(media)?, range.weight)))
        .max()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn media(text: &str) -> MediaType<'_> {
        MediaType::parse(text).expect("a media type")
    }

    /// The weight in thousandths, 0 where no range speaks for the media type.
    fn weight(field: &str, text: &str) -> u16 {
        let ranges: Vec<Range<'_>> = MediaTypeList::new(field)
            .filter_map(|element| Range::read(element.expect("a media range")))
            .collect();
        weighed(&ranges, &media(text)).map_or(0, |(_, weight)| weight.0)
    }

    /// Which of the texts is chosen.
    fn chosen<'a>(field: &str, offered: &[&'a str]) -> Option<&'a str> {
        let media: Vec<MediaType<'_>> = offered.iter().map(|text| media(text)).collect();
        choose(field, &media).map(|place| offered[place])
    }

    /// The table of RFC 9110, section 12.5.1.
    #[test]
    fn the_closest_range_gives_the_weight() {
        let field = "text/*;q=0.3, text/plain;q=0.7, text/plain;format=flowed, text/plain;format=fixed;q=0.4, */*;q=0.5";
        for (text, expected) in [
            ("text/plain;format=flowed", 1000),
            ("text/plain", 700),
            ("text/html", 300),
            ("image/jpeg", 500),
            ("text/plain;format=fixed", 400),
            ("text/html;level=3", 300),
        ] {
            assert_eq!(weight(field, text), expected, "{text}");
        }
    }

    /// The other examples of RFC 9110, section 12.5.1: "audio/basic is preferred, but any audio type if it is the best available
    /// after an 80% markdown"; text/html and text/x-c equally, then text/x-dvi, then text/plain; the four levels of closeness.
    #[test]
    fn the_examples_of_the_standard_choose_as_they_say() {
        let field = "audio/*; q=0.2, audio/basic";
        assert_eq!(
            chosen(field, &["audio/ogg", "audio/basic"]),
            Some("audio/basic")
        );
        assert_eq!(weight(field, "audio/ogg"), 200);
        let field = "text/plain; q=0.5, text/html, text/x-dvi; q=0.8, text/x-c";
        let offered = ["text/plain", "text/x-dvi", "text/x-c", "text/html"];
        assert_eq!(chosen(field, &offered), Some("text/x-c"));
        assert_eq!(chosen(field, &offered[..2]), Some("text/x-dvi"));
        assert_eq!(chosen(field, &offered[..1]), Some("text/plain"));
        let field = "text/*, text/plain, text/plain;format=flowed, */*";
        let ranges: Vec<Closeness> = MediaTypeList::new(field)
            .filter_map(|element| Range::read(element.ok()?))
            .filter_map(|range| range.closeness(&media("text/plain;format=flowed")))
            .collect();
        assert_eq!(ranges, [(1, 0), (2, 0), (2, 1), (0, 0)]);
    }

    #[test]
    fn what_is_not_wanted_is_not_chosen() {
        let offered = ["application/json", "text/html"];
        assert_eq!(chosen("image/png", &offered), None);
        assert_eq!(chosen("*/*;q=0", &offered), None);
        assert_eq!(
            chosen("application/json;q=0, */*;q=0.1", &offered),
            Some("text/html")
        );
        assert_eq!(
            chosen("text/*;q=0, */*", &offered),
            Some("application/json")
        );
        assert_eq!(chosen("text/*;q=0", &offered), None);
        assert_eq!(chosen("text/html;level=1", &offered), None);
        assert_eq!(chosen("", &[]), None);
    }

    #[test]
    fn of_equal_weights_the_closer_name_decides_and_then_the_offer() {
        let offered = ["application/json", "text/html", "text/csv"];
        assert_eq!(chosen("text/csv, */*", &offered), Some("text/csv"));
        assert_eq!(
            chosen("text/html, application/json", &offered),
            Some("application/json")
        );
        assert_eq!(chosen("text/*", &offered), Some("text/html"));
        assert_eq!(chosen("*/*", &offered), Some("application/json"));
    }

    #[test]
    fn what_cannot_be_read_is_passed_over() {
        let offered = ["application/json", "text/html;charset=utf-8"];
        let html = Some("text/html;charset=utf-8");
        for field in [
            "nonsense, text/html",
            ", ,text/html,,",
            "*/html, text/html;q=0.5",
            "application/json;q=2, text/html;q=0.1",
            "application/json;q=0.0001, text/html;q=0.1",
            "image/png;note=\"a, b\", TEXT/HTML; Charset=\"UTF-8\"; Q=0.5",
        ] {
            assert_eq!(chosen(field, &offered), html, "{field}");
        }
        for field in [
            "",
            " ",
            ",,,",
            "nonsense",
            "\"",
            "text/html;q=high",
            "a/b;c=\"",
        ] {
            assert_eq!(chosen(field, &offered), Some("application/json"), "{field}");
        }
    }

    #[test]
    fn weights_have_up_to_three_decimals() {
        for (text, expected) in [
            ("0", 0),
            ("0.", 0),
            ("0.5", 500),
            ("0.05", 50),
            ("0.001", 1),
            ("1", 1000),
            ("1.000", 1000),
        ] {
            assert_eq!(Weight::read(text), Some(Weight(expected)), "{text}");
        }
        for text in ["", ".5", "1.1", "2", "0.1234", "-0", "0.-1", "0,5", "00"] {
            assert_eq!(Weight::read(text), None, "{text}");
        }
    }
}

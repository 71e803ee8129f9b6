//! Entity tags (RFC 9110, section 8.8.3): whether a client has the same bytes already.

use axum::http::{HeaderMap, HeaderValue, header};

use super::digest::digest;

/// A strong tag: equal where the bytes are.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Tag(String);

impl Tag {
    pub(super) fn of(bytes: &[u8]) -> Tag {
        Tag(format!("\"{}\"", digest(&[bytes])))
    }

    /// The value of the `ETag` field.
    pub(super) fn value(&self) -> HeaderValue {
        // Quotes and hexadecimal digits are always a value.
        HeaderValue::from_str(&self.0).unwrap_or(HeaderValue::from_static("\"\""))
    }

    /// Whether `If-None-Match` names this tag, or any by `*` (RFC 9110, section 13.1.2, which compares weakly).
    ///
    /// A tag has no quotes within, so that a list that is split at each comma shows this tag only where it stands.
    pub(super) fn is_known(&self, headers: &HeaderMap) -> bool {
        let lines = headers.get_all(header::IF_NONE_MATCH).iter();
        let mut named = lines
            .filter_map(|line| line.to_str().ok())
            .flat_map(|line| line.split(','))
            .map(str::trim);
        named.any(|named| named == "*" || named.strip_prefix("W/").unwrap_or(named) == self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_is_known_by_itself_in_a_list_and_by_a_star() {
        let tag = Tag::of(b"one");
        let known = |lines: &[&str]| {
            let mut headers = HeaderMap::new();
            for line in lines {
                let value = HeaderValue::from_str(line).expect("a value");
                headers.append(header::IF_NONE_MATCH, value);
            }
            tag.is_known(&headers)
        };
        let own = tag.value().to_str().expect("text").to_string();
        let weak = format!("W/{own}");
        let list = format!("\"a, b\" , {own}");
        for lines in [
            vec!["*"],
            vec![&own],
            vec![&weak],
            vec![&list],
            vec!["\"x\"", &own],
        ] {
            assert!(known(&lines), "{lines:?}");
        }
        let other = Tag::of(b"two").value().to_str().expect("text").to_string();
        let bare = own.trim_matches('"').to_string();
        for lines in [vec![], vec![""], vec![other.as_str()], vec![&bare]] {
            assert!(!known(&lines), "{lines:?}");
        }
    }
}

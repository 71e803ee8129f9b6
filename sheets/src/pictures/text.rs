//! Letters in pictures: how wide they are, and what is left out of them.

use crate::drawing::LETTERS as SIZE;

/// What a line of letters takes up in height, the room between two lines included.
pub(super) const LINE: f64 = 4.2;

/// A width that the text does not exceed in the usual sans-serif faces, in millimetres.
///
/// The widths are those of a wide face among them, read from memory of its tables and rounded up; a narrow face only leaves more
/// white around a label.
pub(super) fn width(words: &str) -> f64 {
    words.chars().map(|letter| em(letter) * SIZE).sum()
}

/// Width of a letter in parts of the size.
fn em(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | ' ' | '!' | 'I' => 0.36,
        'f' | 't' | 'r' | '(' | ')' | '/' | '-' | '[' | ']' => 0.42,
        'm' | 'w' | 'M' | 'W' | '@' | '%' | '–' | '…' | '→' | '←' => 1.02,
        'a'..='z' | '0'..='9' => 0.64,
        'A'..='Z' => 0.78,
        '×' | '≈' | '+' | '=' | '<' | '>' => 0.84,
        letter if letter.is_ascii() => 0.84,
        // Accented letters are narrower, other scripts may be as wide as they are high.
        letter if ('\u{c0}'..'\u{250}').contains(&letter) => 0.8,
        _ => 1.1,
    }
}

/// The text without what no XML document may hold: control characters and the two characters that are none.
pub(crate) fn plain(words: &str) -> String {
    let allowed = |letter: char| match letter {
        '\t' | '\n' | '\r' => ' ',
        '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        letter if letter.is_control() => '\u{fffd}',
        letter => letter,
    };
    words.chars().map(allowed).collect()
}

/// As much of the text as fits, its end replaced by `…`; none where not even three letters do.
pub(super) fn shortened(words: &str, room: f64) -> Option<String> {
    if width(words) <= room {
        return Some(words.to_string());
    }
    let mut used = em('…') * SIZE;
    let mut kept = String::new();
    for letter in words.chars() {
        used += em(letter) * SIZE;
        if used > room {
            break;
        }
        kept.push(letter);
    }
    (kept.chars().count() >= 3).then(|| format!("{kept}…"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_shortened_to_their_room() {
        assert_eq!(shortened("border", 100.0).as_deref(), Some("border"));
        let short = shortened("border-1-left", 16.0).expect("room for three letters");
        assert!(short.ends_with('…') && width(&short) <= 16.0, "{short}");
        assert_eq!(shortened("border-1-left", 4.0), None);
    }

    #[test]
    fn what_xml_forbids_is_replaced() {
        assert_eq!(plain("a\u{1}b\nc\u{ffff}"), "a\u{fffd}b c\u{fffd}");
    }
}

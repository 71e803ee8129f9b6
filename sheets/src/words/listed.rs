//! Names and numbers in a row.

/// Names in a row: `a`, `a and b`, `a, b and c`.
pub(crate) fn listed<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_string(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// Ascending numbers in words, those that follow each other as one: `4, 7 and 9`, `1 to 5 and 8`.
pub fn listed_numbers(numbers: &[u32]) -> String {
    let mut parts = Vec::new();
    for row in numbers.chunk_by(|one, next| one + 1 == *next) {
        match row {
            [first, _, .., last] => parts.push(format!("{first} to {last}")),
            few => parts.extend(few.iter().map(u32::to_string)),
        }
    }
    listed(&parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_one_part() {
        let written = [
            vec![],
            vec![3],
            vec![3, 4],
            vec![4, 7, 9],
            vec![1, 2, 3, 4, 5, 8],
        ]
        .map(|of| listed_numbers(&of));
        assert_eq!(written, ["", "3", "3 and 4", "4, 7 and 9", "1 to 5 and 8"]);
    }
}

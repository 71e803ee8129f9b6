//! Numbers in a row.

/// Ascending numbers in words, those that follow each other as one: `4, 7 and 9`, `1 to 5 and 8`.
pub fn listed_numbers(numbers: &[u32]) -> String {
    let mut parts = Vec::new();
    for row in numbers.chunk_by(|one, next| one + 1 == *next) {
        match row {
            [first, _, .., last] => parts.push(format!("{first} to {last}")),
            few => parts.extend(few.iter().map(u32::to_string)),
        }
    }
    let last = parts.pop().unwrap_or_default();
    match parts.as_slice() {
        [] => last,
        first => format!("{} and {last}", first.join(", ")),
    }
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

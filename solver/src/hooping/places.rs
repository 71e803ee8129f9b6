//! Whether what one lane or hooping has places for can stand in for another.

use crate::hooping::kind::Kind;

/// Whether each run of `runs` can have a place of its own among `places`: a bipartite matching by augmenting paths.
pub fn has_places(kinds: &[Kind], places: &[usize], runs: &[usize]) -> bool {
    if runs.len() > places.len() {
        return false;
    }
    let mut taken: Vec<Option<usize>> = vec![None; places.len()];
    (0..runs.len()).all(|run| {
        let mut visited = vec![false; places.len()];
        augment(kinds, places, runs, run, &mut taken, &mut visited)
    })
}

fn augment(
    kinds: &[Kind],
    places: &[usize],
    runs: &[usize],
    run: usize,
    taken: &mut [Option<usize>],
    visited: &mut [bool],
) -> bool {
    for place in 0..places.len() {
        if visited[place] || !kinds[places[place]].takes(&kinds[runs[run]]) {
            continue;
        }
        visited[place] = true;
        let free = match taken[place] {
            None => true,
            Some(other) => augment(kinds, places, runs, other, taken, visited),
        };
        if free {
            taken[place] = Some(run);
            return true;
        }
    }
    false
}

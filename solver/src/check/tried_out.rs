//! What a strip could have been, against trying out every covering.

use serde_json::{Value, json};

use super::covering;
use super::geometry::Geometry;
use super::place::Place;
use super::possible::Possible;
use super::report::Report;
use super::sums::Answer;
use crate::drawn::Drawn;
use crate::length::Unit;
use crate::plan::{RunEntry, SegmentEntry, StripEntry};
use crate::scenario::{self, Scenario};

/// What scenarios are drawn from.
struct Draw(Drawn);

impl Draw {
    fn below(&mut self, end: u64) -> u64 {
        self.0.below(end)
    }

    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        let index = self.below(of.len() as u64);
        of[usize::try_from(index).expect("an index")]
    }

    /// Around so many thousand nanometres, a few to either side of it.
    fn around(&mut self, thousands: &[u64]) -> u64 {
        self.one(thousands) * 1000 + self.one(&[0, 0, 0, 1, 2, 3])
    }
}

fn nanometres(count: u64) -> Value {
    json!(format!("{count}/1000000"))
}

fn drawn(draw: &mut Draw) -> Scenario {
    let sizes: Vec<Value> = (0..1 + draw.below(3))
        .map(|index| {
            let repeats = 1 + draw.below(2);
            let repeat = draw.around(&[10, 12, 15, 17, 20]);
            let field = [
                nanometres(repeat * repeats + draw.one(&[0, 0, 2000, 5000])),
                nanometres(5000 + draw.one(&[0, 0, 1000, 3000])),
            ];
            json!({"id": format!("s{index}"), "width": nanometres(5000), "repeat": nanometres(repeat),
                "repeats": repeats, "field": field, "stop_early": draw.below(2) == 0,
                "scale": draw.one(&[["1", "1"], ["1", "1"], ["0.9", "1.05"], ["0.97", "1.1"], ["2/3", "1"]])})
        })
        .collect();
    let hoops: Vec<Value> = (0..2)
        .map(|index| {
            let field = [
                nanometres(draw.around(&[11, 14, 17, 22, 30, 40])),
                nanometres(draw.one(&[5000, 6000, 8000, 20_000])),
            ];
            json!({"id": format!("h{index}"), "field": field, "turn": draw.below(2) == 0})
        })
        .collect();
    let overhang = draw.one(&[None, None, Some(0), Some(2), Some(3000)]);
    let document = json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "a", "length": nanometres(draw.around(&[10, 14, 20, 24, 27, 30, 34, 40])),
            "width": nanometres(5000), "design": "d"}],
        "hoops": hoops, "designs": [{"id": "d", "sizes": sizes}],
        "rules": {"combine_sizes": draw.below(3) > 0, "max_overhang": overhang.map(nanometres)}
    });
    let bytes = serde_json::to_vec(&document).expect("JSON");
    scenario::read(&bytes).expect("a scenario")
}

/// Whether a covering by these runs is valid and each of them fits some hoop alone.
fn is_valid(scenario: &Scenario, geometry: &Geometry, runs: &[Vec<SegmentEntry>]) -> bool {
    let zero = || crate::length::Measure::whole(0);
    let run = |segments: &Vec<SegmentEntry>| RunEntry {
        hooping: 1,
        from: zero(),
        to: zero(),
        segments: segments.clone(),
    };
    let entry = StripEntry {
        id: "a".into(),
        length: zero(),
        width: zero(),
        design: "d".into(),
        scale: zero(),
        overhang: zero(),
        trimmed: [zero(), zero()],
        cut: [zero(), zero()],
        runs: runs.iter().map(run).collect(),
    };
    let mut report = Report::new(Unit::Millimetre);
    let strip = &geometry.strips[0];
    let Some(covering) = covering::check(scenario, strip, &entry, Place::of("strips"), &mut report)
    else {
        return false;
    };
    let fits = |run: &covering::Run| {
        scenario.hoops.iter().any(|hoop| {
            let [first, second] = hoop.field;
            let ways = [
                (first, second),
                if hoop.turn {
                    (second, first)
                } else {
                    (first, second)
                },
            ];
            ways.iter().any(|(along, across)| {
                run.length + run.margin_along <= *along
                    && strip.width + run.margin_across <= *across
            })
        })
    };
    report.into_violations().is_empty() && covering.runs.iter().all(fits)
}

/// Calls `found` for every choice of segments, repeated or not, up to twice the strip's length.
fn for_each_choice(
    kinds: &[(SegmentEntry, i64)],
    left: i64,
    chosen: &mut Vec<SegmentEntry>,
    found: &mut impl FnMut(&[SegmentEntry]),
) {
    for (index, (segment, length)) in kinds.iter().enumerate() {
        if *length <= left {
            chosen.push(segment.clone());
            found(chosen);
            for_each_choice(&kinds[index..], left - length, chosen, found);
            chosen.pop();
        }
    }
}

#[test]
fn answers_agree_with_trying_every_covering() {
    let mut draw = Draw(Drawn(7));
    let mut seen = [[0; 2]; 2];
    for round in 0..6000 {
        let scenario = drawn(&mut draw);
        let geometry = Geometry::of(&scenario);
        let strip = &geometry.strips[0];
        let mut kinds = Vec::new();
        for size in &scenario.designs[0].sizes {
            let least = if size.stop_early { 1 } else { size.repeats };
            for repeats in least..=size.repeats {
                let entry = SegmentEntry {
                    size: size.id.clone(),
                    repeats,
                };
                kinds.push((entry, size.repeat.nanometres() * i64::from(repeats)));
            }
        }
        let (mut one_run, mut some_runs) = (false, false);
        let left = 2 * strip.length.nanometres();
        for_each_choice(&kinds, left.max(41_000), &mut Vec::new(), &mut |segments| {
            one_run = one_run || is_valid(&scenario, &geometry, &[segments.to_vec()]);
            let split: Vec<_> = segments.iter().map(|one| vec![one.clone()]).collect();
            some_runs = some_runs || is_valid(&scenario, &geometry, &split);
        });
        let answer = |yes| if yes { Answer::Yes } else { Answer::No };
        let mut possible = Possible::new(&scenario);
        assert_eq!(
            possible.in_one_run(strip),
            answer(one_run),
            "{round}: {scenario:?}"
        );
        assert_eq!(
            possible.is_stitchable(strip),
            answer(some_runs),
            "{round}: {scenario:?}"
        );
        seen[0][usize::from(one_run)] += 1;
        seen[1][usize::from(some_runs)] += 1;
    }
    // Both answers to both questions come up often enough to mean something.
    assert!(seen.iter().flatten().all(|count| *count > 100), "{seen:?}");
}

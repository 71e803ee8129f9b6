//! The order and the figures of fits, against every choice of widths worked out here in whole millimetres, and against plans
//! of scenarios in which the widths are really others.

use std::time::Duration;

use sashwright_solver::cope::{Fits, cope};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::exact::Exact;
use sashwright_solver::plan::ObjectiveEntry;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use sashwright_tests::random::SplitMix64;
use serde_json::{Value, json};

const LIMIT: Duration = Duration::from_secs(60);
/// Choices that are planned, and those that are told of, as the README says.
const PLANNED: usize = 8;
const TOLD: usize = 5;

/// Blocks with plain sashing, a plain border, a stitched one around it, and a loose strip that no width changes. All lengths
/// are whole millimetres, and one size that may stop early gives every count of its repeat.
struct Drawn {
    blocks: [i64; 2],
    block: [i64; 2],
    outer_sashing: bool,
    sashing: [i64; 3],
    border: i64,
    sides: [i64; 2],
    ends: [i64; 2],
    step: i64,
    stitched: i64,
    corner: &'static str,
    repeat: i64,
    thousandths: i64,
    loose: i64,
}

/// Widths of the sashing, the left and right strips, and the top and bottom ones.
type Widths = [i64; 3];

/// How well a choice fits; less is better: strips that do not close, |s − 1| at most, overhang in all.
type Quality = (usize, Exact, i64);

impl Drawn {
    fn of(seed: u64) -> Drawn {
        let mut random = SplitMix64::new(seed);
        let mut range = |least: i64, most: i64, width: i64| {
            let from = random.between(least, most);
            [from, from + random.between(0, width)]
        };
        let (sides, ends, sashing) = (range(10, 16, 8), range(10, 16, 8), range(8, 12, 3));
        let mut drawn = Drawn {
            blocks: [random.between(1, 3), random.between(1, 3)],
            block: [random.between(50, 60), random.between(50, 60)],
            outer_sashing: random.chance(30),
            sashing: [random.between(8, 14), sashing[0], sashing[1]],
            border: random.between(10, 20),
            sides,
            ends,
            step: random.between(1, 3),
            stitched: 40,
            corner: random.pick(&["butted", "mitred", "cornerstone"]),
            repeat: random.pick(&[18, 25, 32]),
            thousandths: random.pick(&[0, 15, 40]),
            loose: random.between(60, 120),
        };
        // Many are drawn again until some choice closes.
        let wanted = random.chance(70);
        let mut tries = 0;
        while wanted && tries < 300 && !drawn.choices().iter().any(|widths| drawn.closes(*widths)) {
            drawn.block = [random.between(50, 90), random.between(50, 90)];
            tries += 1;
        }
        drawn
    }

    fn closes(&self, widths: Widths) -> bool {
        self.quality(widths) == (0, Exact::ZERO, 0)
    }

    fn now(&self) -> Widths {
        [self.sashing[0], self.border, self.border]
    }

    fn document(&self, [sashing, sides, ends]: Widths, coping: bool) -> Value {
        let mut sash = json!({"width": sashing, "outer": self.outer_sashing});
        let mut plain = json!({"width": sides, "width_of_ends": ends});
        if coping {
            let [_, least, most] = self.sashing;
            sash["cope"] = json!({"width": [least, most], "step": self.step});
            plain["cope"] = json!({"sides": self.sides, "ends": self.ends, "step": self.step});
        }
        let range = |thousandths: i64| {
            let end = |part: i64| json!(format!("{part}/1000"));
            json!([end(1000 - thousandths), end(1000 + thousandths)])
        };
        let size = |thousandths: i64| {
            json!({"id": "row", "width": self.stitched, "repeat": self.repeat, "repeats": 8,
                "stop_early": true, "scale": range(thousandths)})
        };
        json!({
            "format": 1, "unit": "mm",
            "quilt": {
                "blocks": {"columns": self.blocks[0], "rows": self.blocks[1], "size": self.block},
                "sashing": sash,
                "borders": [plain, {"width": self.stitched, "corner": self.corner, "design": "border"}]},
            "strips": [{"id": "loose", "length": self.loose, "width": self.stitched, "design": "other"}],
            "hoops": [{"id": "hoop", "field": [280, 150]}],
            // The loose strip may be scaled far: what it needs says nothing of the widths.
            "designs": [{"id": "border", "sizes": [size(self.thousandths)]},
                {"id": "other", "sizes": [size(200)]}],
            "goal": {"priorities": ["hoopings", "stabilizer"]}
        })
    }

    fn choices(&self) -> Vec<Widths> {
        let each = |[least, most]: [i64; 2]| {
            let steps = (most - least) / self.step;
            (0..=steps).map(move |step| least + step * self.step)
        };
        let mut all = Vec::new();
        for sashing in each([self.sashing[1], self.sashing[2]]) {
            for sides in each(self.sides) {
                all.extend(each(self.ends).map(|ends| [sashing, sides, ends]));
            }
        }
        all
    }

    /// Width and height inside the stitched border.
    fn inside(&self, [sashing, sides, ends]: Widths) -> [i64; 2] {
        let more = if self.outer_sashing { 1 } else { -1 };
        let centre = |place: usize| {
            self.blocks[place] * self.block[place] + (self.blocks[place] + more) * sashing
        };
        [centre(0) + 2 * sides, centre(1) + 2 * ends]
    }

    fn quality(&self, widths: Widths) -> Quality {
        let [width, height] = self.inside(widths);
        let past = 2 * self.stitched;
        let lengths = match self.corner {
            "butted" => [height, width + past],
            "mitred" => [height + past, width + past],
            _ => [height, width],
        };
        let (mut open, mut scaling, mut overhang) = (0, Exact::ZERO, 0);
        for length in lengths {
            // Two strips of each length.
            let counts = 1..=length / self.repeat + 1;
            let sums = counts.map(|count| count * self.repeat);
            let allowed = sums.filter(|sum| {
                (1000 - self.thousandths) * sum <= 1000 * length
                    && 1000 * length <= (1000 + self.thousandths) * sum
            });
            let scalings = allowed
                .filter_map(|sum| Exact::new(i128::from((length - sum).abs()), i128::from(sum)));
            match scalings.min() {
                Some(least) => scaling = scaling.max(least),
                None => {
                    open += 2;
                    overhang +=
                        2 * ((length + self.repeat - 1) / self.repeat * self.repeat - length);
                }
            }
        }
        (open, scaling, overhang)
    }

    fn change(&self, widths: Widths) -> i64 {
        let changes = widths.iter().zip(self.now());
        changes.map(|(width, now)| (width - now).abs()).sum()
    }

    /// What a plan of the quilt with these widths is worth: corners first, and the border scaled no more than it needs.
    fn planned(&self, widths: Widths) -> Vec<ObjectiveEntry> {
        let mut document = self.document(widths, false);
        let (open, scaling, _) = self.quality(widths);
        if open == 0 {
            let (upper, lower) = (scaling.numerator(), scaling.denominator());
            let end = |part: i128| json!(format!("{part}/{lower}"));
            document["designs"][0]["sizes"][0]["scale"] =
                json!([end(lower - upper), end(lower + upper)]);
        }
        document["goal"] = json!({"priorities":
            ["corner_mismatch", "overhang", "hoopings", "joints", "stabilizer"]});
        let scenario = read(document.to_string().as_bytes()).expect("no fault");
        answer(&scenario, LIMIT).expect("a plan").objective
    }
}

fn told(fits: &Fits) -> Vec<Widths> {
    let number = |measure: &sashwright_solver::length::Measure| -> i64 {
        measure.to_string().parse().expect("whole millimetres")
    };
    let widths = |fit: &sashwright_solver::cope::Fit| {
        [0, 1, 2].map(|place| number(&fit.widths[place].width))
    };
    fits.fits.iter().map(widths).collect()
}

#[test]
fn fits_are_told_in_order_and_with_their_own_plans() {
    let (mut closing, mut scaled, mut open) = (0, 0, 0);
    for seed in 0..60 {
        let drawn = Drawn::of(seed);
        let document = drawn.document(drawn.now(), true).to_string();
        let scenario = read(document.as_bytes()).expect("no fault");
        let deadline = Deadline::after(LIMIT, StopSignal::new());
        let fits = cope(&scenario, &deadline).expect("fits");
        let mut others = drawn.choices();
        others.retain(|widths| *widths != drawn.now());
        assert_eq!(fits.choices, others.len() as u64 + 1, "seed {seed}");
        assert!(fits.sure && fits.looked_at == fits.choices, "seed {seed}");
        let whole = |widths: &Widths| drawn.closes(*widths);
        let all_whole = others
            .iter()
            .chain([&drawn.now()])
            .filter(|widths| whole(widths))
            .count();
        assert_eq!(fits.closing, all_whole as u64, "seed {seed}");
        assert_eq!(
            fits.now.objective,
            drawn.planned(drawn.now()),
            "seed {seed}"
        );
        // The best by what they need, of those the ones that change least, are planned, and then put in order.
        others.sort_by_key(|widths| (drawn.quality(*widths), drawn.change(*widths), *widths));
        others.truncate(PLANNED);
        let mut planned: Vec<(Widths, Vec<ObjectiveEntry>)> = others
            .into_iter()
            .map(|widths| (widths, drawn.planned(widths)))
            .collect();
        planned.sort_by_key(|(widths, objective)| {
            let mut values = objective
                .iter()
                .map(|entry| entry.value.exact().expect("a number"));
            let mismatch = values.next();
            let (quality, change) = (drawn.quality(*widths), drawn.change(*widths));
            (
                mismatch,
                quality,
                values.collect::<Vec<_>>(),
                change,
                *widths,
            )
        });
        planned.truncate(TOLD);
        let expected: Vec<Widths> = planned.iter().map(|(widths, _)| *widths).collect();
        assert_eq!(told(&fits), expected, "seed {seed}");
        for (fit, (widths, objective)) in fits.fits.iter().zip(&planned) {
            assert_eq!(fit.objective, *objective, "seed {seed}: {widths:?}");
            assert_eq!(fit.closes, whole(widths), "seed {seed}: {widths:?}");
            let [width, height] = drawn.inside(*widths);
            let finished = [width + 2 * drawn.stitched, height + 2 * drawn.stitched];
            assert_eq!(
                json!(fit.finished),
                json!(finished),
                "seed {seed}: {widths:?}"
            );
            assert_eq!(fit.mixing, 0);
            match drawn.quality(*widths) {
                (0, scaling, _) if scaling == Exact::ZERO => closing += 1,
                (0, ..) => scaled += 1,
                _ => open += 1,
            }
        }
    }
    println!("of those told of {closing} close, {scaled} are scaled, {open} hang over");
    assert!(
        closing > 20 && scaled > 50 && open > 50,
        "the draw is too tame"
    );
}

//! Fits of widths, against a search through all of them on paper's arithmetic and against plans of scenarios really changed.

use std::time::Duration;

use sashwright_solver::cope::{Fits, cope, fits_schema};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use sashwright_tests::edit::write;
use sashwright_tests::random::SplitMix64;
use serde_json::{Value, json};

const LIMIT: Duration = Duration::from_secs(30);

/// A quilt in whole millimetres: a centre, a plain border that may have other widths, a stitched border around it whose one
/// repeat and lengths are whole millimetres too.
struct Drawn {
    centre: [i64; 2],
    width: i64,
    sides: [i64; 2],
    ends: [i64; 2],
    step: i64,
    outer: i64,
    corner: &'static str,
    repeat: i64,
    /// The most by which the pattern may be scaled, in thousandths.
    thousandths: i64,
}

impl Drawn {
    fn of(seed: u64) -> Drawn {
        let mut random = SplitMix64::new(seed);
        let least = [random.between(10, 20), random.between(10, 20)];
        let mut drawn = Drawn {
            centre: [random.between(150, 220), random.between(150, 220)],
            width: random.between(10, 25),
            sides: [least[0], least[0] + random.between(0, 12)],
            ends: [least[1], least[1] + random.between(0, 12)],
            step: random.between(1, 3),
            outer: 40,
            corner: random.pick(&["butted", "mitred", "cornerstone"]),
            repeat: random.pick(&[20, 25, 30]),
            thousandths: random.pick(&[0, 20, 50]),
        };
        // Most are drawn so that some choice of widths closes.
        if random.chance(70) {
            let (sides, ends) = random.pick(&drawn.choices());
            let [upright, lying] = drawn.lengths(sides, ends);
            drawn.centre[0] -= lying % drawn.repeat;
            drawn.centre[1] -= upright % drawn.repeat;
        }
        drawn
    }

    fn document(&self) -> Value {
        let scale = [
            json!(format!("{}/1000", 1000 - self.thousandths)),
            json!(format!("{}/1000", 1000 + self.thousandths)),
        ];
        json!({
            "format": 1, "unit": "mm",
            "quilt": {"centre": self.centre, "borders": [
                {"width": self.width, "cope": {"sides": self.sides, "ends": self.ends, "step": self.step}},
                {"width": self.outer, "corner": self.corner, "design": "row"}]},
            "hoops": [{"id": "hoop", "field": [320, 100]}],
            "designs": [{"id": "row", "sizes": [
                {"id": "row-1", "width": self.outer, "repeat": self.repeat, "repeats": 10, "stop_early": true, "scale": scale}]}],
            "goal": {"priorities": ["hoopings"]}
        })
    }

    /// Lengths of the upright and the lying strips of the stitched border, with these widths of the plain one.
    fn lengths(&self, sides: i64, ends: i64) -> [i64; 2] {
        let [width, height] = [self.centre[0] + 2 * sides, self.centre[1] + 2 * ends];
        match self.corner {
            "butted" => [height, width + 2 * self.outer],
            "mitred" => [height + 2 * self.outer, width + 2 * self.outer],
            _ => [height, width],
        }
    }

    /// |s − 1| at its least for a length, as a fraction; `None` where the pattern may not be scaled so far.
    fn scaling(&self, length: i64) -> Option<(i64, i64)> {
        let counts = (1..=length / self.repeat + 1).map(|count| count * self.repeat);
        let allowed = counts.filter(|sum| {
            (1000 - self.thousandths) * sum <= 1000 * length
                && 1000 * length <= (1000 + self.thousandths) * sum
        });
        let scaling = allowed.map(|sum| ((length - sum).abs(), sum));
        scaling.min_by(|one, other| (one.0 * other.1).cmp(&(other.0 * one.1)))
    }

    /// Whether both lengths can end at the seam lines, and with how much scaling, in parts of 10^9, rounded down.
    fn quality(&self, sides: i64, ends: i64) -> (usize, i64) {
        let each = self.lengths(sides, ends).map(|length| self.scaling(length));
        let open = each.iter().filter(|scaling| scaling.is_none()).count();
        let most = each
            .iter()
            .flatten()
            .map(|(upper, lower)| upper * 1_000_000_000 / lower)
            .max();
        (open, most.unwrap_or(0))
    }

    /// Every choice of widths.
    fn choices(&self) -> Vec<(i64, i64)> {
        let range = |[least, most]: [i64; 2]| (least..=most).step_by(self.step as usize);
        range(self.sides)
            .flat_map(|sides| range(self.ends).map(move |ends| (sides, ends)))
            .collect()
    }
}

fn fits_of(document: &Value) -> Fits {
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    cope(&scenario, &Deadline::after(LIMIT, StopSignal::new())).expect("fits")
}

#[test]
fn the_best_widths_are_found() {
    let validator = jsonschema::draft202012::new(&fits_schema()).expect("a schema");
    let (mut closing, mut planned) = (0, 0);
    for seed in 0..200 {
        let drawn = Drawn::of(seed);
        let document = drawn.document();
        let fits = fits_of(&document);
        assert!(validator.is_valid(&json!(fits)), "seed {seed}");
        let mut choices = drawn.choices();
        let count = choices.len() + usize::from(!choices.contains(&(drawn.width, drawn.width)));
        assert_eq!(fits.choices, count as u64, "seed {seed}");
        let is_closing = |choice: &&(i64, i64)| drawn.quality(choice.0, choice.1) == (0, 0);
        let own = [(drawn.width, drawn.width)];
        let others: Vec<(i64, i64)> = choices
            .iter()
            .copied()
            .filter(|choice| *choice != own[0])
            .collect();
        let all_closing = own.iter().chain(&others).filter(is_closing).count();
        assert_eq!(fits.closing, all_closing as u64, "seed {seed}");
        closing += all_closing;
        // The best are among those that are told of: none that is left out has less scaling than the last of them.
        choices = others;
        let told: Vec<(i64, i64)> = fits
            .fits
            .iter()
            .map(|fit| {
                let width = |place: usize| {
                    fit.widths[place]
                        .width
                        .to_string()
                        .parse()
                        .expect("whole millimetres")
                };
                (width(0), width(1))
            })
            .collect();
        let quality = |choice: &(i64, i64)| drawn.quality(choice.0, choice.1);
        let least = choices.iter().map(quality).min();
        // Where no pattern needs to hang over, every corner meets, and scaling alone decides.
        if least.is_some_and(|(open, _)| open == 0) {
            assert_eq!(told.first().map(quality), least, "seed {seed}: {told:?}");
        }
        if told.iter().all(|choice| quality(choice).0 == 0) {
            let worst = told.iter().map(quality).max();
            let mut better = choices
                .iter()
                .filter(|choice| Some(quality(choice)) < worst && !told.contains(choice));
            // Ties by less than a part of 10^9 aside, nothing better is left out.
            let apart = |choice: &&(i64, i64)| {
                let (_, scaling) = quality(choice);
                quality(choice).0 == 0 && worst.is_some_and(|(_, most)| scaling + 1 < most)
            };
            assert_eq!(better.find(apart), None, "seed {seed}: {told:?}");
        }
        for (fit, choice) in fits.fits.iter().zip(&told) {
            assert_eq!(fit.closes, quality(choice) == (0, 0), "seed {seed}");
            let [sides, ends] = [choice.0, choice.1];
            let finished = [
                drawn.centre[0] + 2 * (sides + drawn.outer),
                drawn.centre[1] + 2 * (ends + drawn.outer),
            ];
            let told = fit.finished.clone().expect("a quilt");
            let told = told.map(|side| side.to_string());
            assert_eq!(told, finished.map(|side| side.to_string()), "seed {seed}");
            let mut changed = document.clone();
            for setting in &fit.set {
                write(&mut changed, &setting.pointer, &setting.value);
            }
            if fit.closes {
                changed["designs"][0]["sizes"][0]["scale"] = json!([1, 1]);
            }
            changed["goal"] =
                json!({"priorities": ["corner_mismatch", "overhang", "hoopings", "joints"]});
            let scenario = read(changed.to_string().as_bytes()).expect("no fault");
            let lengths: Vec<String> = sashwright_solver::strips::of(&scenario)
                .strips
                .iter()
                .map(|strip| strip.length.in_unit(scenario.unit).to_string())
                .collect();
            let [upright, lying] = drawn.lengths(sides, ends).map(|length| length.to_string());
            assert_eq!(
                lengths,
                [upright.clone(), upright, lying.clone(), lying],
                "seed {seed}"
            );
            if fit.closes {
                let plan = answer(&scenario, LIMIT).expect("a plan");
                assert_eq!(fit.objective, plan.objective, "seed {seed}");
                assert_eq!(
                    fit.objective[0].value.to_string(),
                    "0",
                    "seed {seed}: every corner meets"
                );
                assert_eq!(fit.objective[1].value.to_string(), "0", "seed {seed}");
                planned += 1;
            }
        }
    }
    println!("{closing} closing choices, {planned} planned");
    assert!(closing >= 100 && planned >= 50);
}

/// 50 = 2 · 20 + 10: two repeats stretched to 125 %, three squeezed to 83.333 %; 10 mm too long or too short.
#[test]
fn counts_of_repeats_are_the_nearest() {
    let document = json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "short", "length": 50, "width": 10, "design": "row", "count": 3},
            {"id": "long", "length": 60, "width": 10, "design": "row"}],
        "hoops": [{"id": "hoop", "field": [100, 50]}],
        "designs": [{"id": "row", "sizes": [
            {"id": "row-1", "width": 10, "repeat": 20, "repeats": 5, "stop_early": true, "scale": [0.8, 1.1]}]}]
    });
    let fits = fits_of(&document);
    assert_eq!((fits.choices, fits.fits.len()), (1, 0));
    let told = json!(fits.repeats);
    assert_eq!(
        told,
        json!([
            {"like": "short-1", "alike": 3, "length": 50, "repeat": 20, "counts": [
                {"repeats": 2, "scale": 1.25, "allowed": false, "longer": -10},
                {"repeats": 3, "scale": 0.83333333, "allowed": true, "longer": 10}]},
            {"like": "long", "alike": 1, "length": 60, "repeat": 20, "counts": [
                {"repeats": 3, "scale": 1, "allowed": true, "longer": 0}]}
        ])
    );
}

/// Six and nine of a size that holds three repeats and cannot stop: seven, which would fit, cannot be had. Around them 27 repeats
/// of a third of an inch are nine inches, though each is rounded to a nanometre.
#[test]
fn counts_are_those_that_sizes_can_add_up_to() {
    let document = json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "threes", "length": 14, "width": 2, "design": "row"},
            {"id": "thirds", "length": 9, "width": 1, "design": "row"}],
        "hoops": [{"id": "hoop", "field": [8, 14]}],
        "designs": [{"id": "row", "sizes": [
            {"id": "row-3", "width": 2, "repeat": 2, "repeats": 3, "scale": [0.9, 1.2]},
            {"id": "row-too-long", "width": 2, "repeat": 2, "repeats": 8},
            {"id": "row-thirds", "width": 1, "repeat": "1/3", "repeats": 9}]}]
    });
    let fits = fits_of(&document);
    assert_eq!(
        json!(fits.repeats),
        json!([
            {"like": "threes", "alike": 1, "length": 14, "repeat": 2, "counts": [
                {"repeats": 6, "scale": 1.16666667, "allowed": true, "longer": -2},
                {"repeats": 9, "scale": 0.77777778, "allowed": false, "longer": 4}]},
            {"like": "thirds", "alike": 1, "length": 9, "repeat": 0.33333335, "counts": [
                {"repeats": 27, "scale": 1, "allowed": true, "longer": 0}]}
        ])
    );
    assert!(!fits.now.closes && fits.now.finished.is_none());
}

/// Butted, sides first: the sides are 50 = 2 · 20 + 10 long, three repeats hang over by 5 at either end and miss a corner of a
/// strip that meets it by 5; the ends are 40 + 2 · 10 = 60 = 3 · 20 long.
#[test]
fn a_count_tells_what_it_would_miss_at_a_corner() {
    let document = json!({
        "format": 1, "unit": "mm",
        "quilt": {"centre": [40, 50], "borders": [{"width": 10, "design": "row"}]},
        "hoops": [{"id": "hoop", "field": [100, 50]}],
        "designs": [{"id": "row", "sizes": [
            {"id": "row-1", "width": 10, "repeat": 20, "repeats": 5, "stop_early": true}]}]
    });
    let mut fits = fits_of(&document);
    let counts = |fits: &Fits, kind: usize| json!(fits.repeats[kind].counts);
    assert_eq!(
        counts(&fits, 0),
        json!([{"repeats": 2, "scale": 1.25, "allowed": false, "longer": -10},
            {"repeats": 3, "scale": 0.83333333, "allowed": false, "longer": 10, "mismatch": 5}])
    );
    assert_eq!(
        counts(&fits, 1),
        json!([{"repeats": 3, "scale": 1, "allowed": true, "longer": 0, "mismatch": 0}])
    );
    let mut at_start = document;
    at_start["rules"] = json!({"align": "start"});
    fits = fits_of(&at_start);
    assert_eq!(json!(fits.repeats[0].counts[1].mismatch), json!(10));
}

/// Sashes of 7 3/4 in always take four repeats of 2 in at 96.875 %. The border is mitred, 4 in wide, with repeats of 4 in: across
/// it is 3 · 7 3/4 + 2 · 1 + 8 = 33 1/4 in and twice the sides, whole at 36 = 33 1/4 + 2 · 1 3/8; down 4 · 7 3/4 + 3 + 8 = 42 in
/// and twice the ends, whole at 44 with 1 and at 48 with 3.
#[test]
fn strips_that_no_width_changes_hide_nothing() {
    let document = json!({
        "format": 1, "unit": "in",
        "quilt": {
            "blocks": {"columns": 3, "rows": 4, "size": ["7 3/4", "7 3/4"]},
            "sashing": {"width": 1, "cornerstones": true, "design": "sash"},
            "borders": [{"width": 2, "cope": {"sides": [1, 3], "ends": [1, 3]}},
                {"width": 4, "corner": "mitred", "design": "border"}]},
        "hoops": [{"id": "large", "field": [9.5, 14]}],
        "designs": [
            {"id": "sash", "sizes": [{"id": "sash-8", "width": 1, "repeat": 2, "repeats": 4, "scale": [0.96, 1.04]}]},
            {"id": "border", "sizes": [
                {"id": "border-4", "width": 4, "repeat": 4, "repeats": 1, "scale": [0.96, 1.04]},
                {"id": "border-8", "width": 4, "repeat": 4, "repeats": 2, "scale": [0.96, 1.04]}]}]
    });
    let fits = fits_of(&document);
    assert_eq!((fits.choices, fits.closing), (17 * 17, 2));
    let set = |fit: usize| json!(fits.fits[fit].set);
    let both = |sides: f64, ends: f64| {
        json!([{"pointer": "/quilt/borders/0/width", "value": sides},
            {"pointer": "/quilt/borders/0/width_of_ends", "value": ends}])
    };
    // 3/8 and 1 in of change come before 5/8 and 1 in, where the plans are worth the same.
    assert!(fits.fits[0].closes && fits.fits[1].closes && !fits.fits[2].closes);
    let (one, three) = (json!(1), json!(3));
    for (fit, ends) in [(0, &one), (1, &three)] {
        assert_eq!(set(fit)[0], both(1.375, 0.0)[0]);
        assert_eq!(set(fit)[1]["value"], *ends);
        assert_eq!(json!(fits.fits[fit].objective[0].value), json!(0));
        assert_eq!(json!(fits.fits[fit].scale), json!([0.96875, 1]));
    }
}

/// A strip that nothing can stitch is left out where the rules say so, and widths are found all the same.
#[test]
fn what_is_left_out_anyway_hides_no_width() {
    let document = json!({
        "format": 1, "unit": "mm",
        "quilt": {"centre": [150, 190], "borders": [
            {"width": 20, "cope": {"sides": [20, 30], "step": 5}}, {"width": 10, "design": "row"}]},
        "strips": [{"id": "wide", "length": 50, "width": 30, "design": "row"}],
        "rules": {"allow_partial": true},
        "hoops": [{"id": "hoop", "field": [300, 50]}],
        "designs": [{"id": "row", "sizes": [
            {"id": "row-1", "width": 10, "repeat": 23, "repeats": 10, "stop_early": true}]}]
    });
    // The sides are 190 + 2 · 20 = 230 = 10 · 23 long; the ends 150 + 2 · 30 + 2 · 10 = 230 with the widest sides.
    let fits = fits_of(&document);
    assert_eq!((fits.choices, fits.closing), (3, 1));
    assert!(fits.fits[0].closes && json!(fits.fits[0].widths[0].width) == json!(30));
}

/// Five sizes with repeats of sixteenths have more coverings than can be looked through. What is said is no more than was seen, and
/// the time is kept.
#[test]
fn what_was_not_looked_through_is_said() {
    let repeats = [
        ("7/8", 9),
        ("1 1/8", 8),
        ("5/8", 12),
        ("15/16", 9),
        ("1 5/16", 6),
    ];
    let sizes: Vec<Value> = repeats
        .iter()
        .map(|(repeat, repeats)| {
            json!({"id": repeat, "width": 3, "repeat": repeat, "repeats": repeats, "stop_early": true})
        })
        .collect();
    let document = json!({
        "format": 1, "unit": "in",
        "quilt": {"centre": [60, 72], "borders": [
            {"width": 2, "cope": {"sides": [1, 3], "ends": [1, 3], "step": "1/64"}},
            {"width": 3, "corner": "mitred", "design": "row"}]},
        "hoops": [{"id": "hoop", "field": [9.5, 14]}],
        "designs": [{"id": "row", "sizes": sizes}]
    });
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let begun = std::time::Instant::now();
    let limit = Duration::from_millis(500);
    let fits = cope(&scenario, &Deadline::after(limit, StopSignal::new())).expect("fits");
    assert_eq!(fits.choices, 129 * 129);
    assert!(fits.looked_at < fits.choices && !fits.sure);
    // Generous, as the machine may be busy: this finds hangs, not delays.
    assert!(begun.elapsed() < Duration::from_secs(20));
}

#[test]
fn faults_of_what_may_be_another_are_told() {
    let document = |plain: Value, stitched: Value| {
        json!({
            "format": 1, "unit": "in",
            "quilt": {"centre": [30, 40], "borders": [plain, stitched]},
            "hoops": [{"id": "large", "field": [9.5, 14]}],
            "designs": [{"id": "row", "sizes": [{"id": "row-4", "width": 4, "repeat": 4, "repeats": 1}]}]
        })
    };
    let stitched = json!({"width": 4, "design": "row"});
    let coping = |most: &str| json!({"width": 2, "cope": {"sides": [1, most], "ends": [1, most]}});
    let mut measured = stitched.clone();
    measured["measured"] = json!({"left": 44});
    let mut by_strip = document(coping("3"), stitched.clone());
    by_strip["measured"] = json!([{"strip": "border-2-left", "length": 44}]);
    let cases = [
        (by_strip, "/measured/0 conflict", "measured"),
        // 1 to 18 3/4 in steps of an eighth are 143 widths, 143 · 143 = 20 449 choices.
        (
            document(coping("18 3/4"), stitched.clone()),
            "/quilt out-of-range",
            "20449",
        ),
        (
            document(coping("3"), measured),
            "/quilt/borders/1/measured conflict",
            "measured",
        ),
        (
            document(stitched, coping("3")),
            "/quilt/borders/1/cope conflict",
            "outside",
        ),
    ];
    for (document, expected, words) in cases {
        let scenario = read(document.to_string().as_bytes()).expect("a plan needs no such thing");
        let faults = sashwright_solver::cope::faults(&scenario);
        let told: Vec<String> = faults
            .iter()
            .map(|fault| format!("{} {}", fault.pointer, fault.code.name()))
            .collect();
        assert_eq!(told, [expected]);
        assert!(faults[0].message.contains(words), "{}", faults[0]);
    }
}

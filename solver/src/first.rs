//! A first plan: fills one hooping after the other with the largest runs that are due.
//!
//! Every strip is stitched from its start to its end, so the order is right by itself, whatever the growth.

use crate::cover::SequenceRule;
use crate::deadline::Deadline;
use crate::deal::Dealt;
use crate::draft::Draft;
use crate::hooping::arrange::arrange;
use crate::hooping::kind::{Kind, Openness};
use crate::length::Length;
use crate::master::stabilizer_area;
use crate::task::Task;

/// Strips of one class whose next run is due.
struct Queue {
    class: usize,
    /// Which run is due.
    run: usize,
    kind: Kind,
    /// The strips, the next one last.
    waiting: Vec<usize>,
}

/// A lane in the making: queue numbers of its runs.
type Lane = Vec<usize>;

/// A filling of one hooping.
struct Filling {
    hoop: usize,
    turned: bool,
    lanes: Vec<Lane>,
}

/// Plans every strip of the classes with the fewest runs that it can have.
pub fn first_plan(task: &Task<'_>, deadline: &Deadline) -> Draft {
    let mut draft = Draft {
        covers: vec![None; task.top.strips.len()],
        hoopings: Vec::new(),
    };
    let mut queues = Vec::new();
    for (class, of_class) in task.covers.iter().enumerate() {
        let covers = of_class.covers.iter().enumerate();
        let best = covers.min_by_key(|(index, cover)| {
            (
                cover.count(),
                cover.settled.overhang(),
                cover.settled.stretch(),
                *index,
            )
        });
        let Some((best, _)) = best else { continue };
        let members = &task.classes[class].members;
        for strip in members {
            draft.covers[*strip] = Some((class, best));
        }
        let kinds = task.run_kinds((class, best));
        let rule = SequenceRule::of(task.scenario, &task.classes[class]);
        let told = rule.and_then(|rule| rule.one_order(&of_class.pieces, &of_class.covers[best]));
        let along = told.unwrap_or_else(|| (0..kinds.len()).collect());
        for (place, run) in along.into_iter().enumerate() {
            queues.push(Queue {
                class,
                run,
                kind: kinds[run],
                waiting: if place == 0 {
                    members.iter().rev().copied().collect()
                } else {
                    Vec::new()
                },
            });
        }
    }
    // The largest first; the runs of one class stay in order, which `next_of` relies on.
    let mut order: Vec<usize> = (0..queues.len()).collect();
    order.sort_by_key(|queue| (std::cmp::Reverse(area(&queues[*queue].kind)), *queue));
    while !deadline.over()
        && let Some(filling) = best_filling(task, &queues, &order, deadline)
    {
        // Alike hoopings in a row are decided once.
        let mut used = vec![0; queues.len()];
        for queue in filling.lanes.iter().flatten() {
            used[*queue] += 1;
        }
        let repeats = (0..queues.len()).filter(|queue| used[*queue] > 0);
        let repeats = repeats
            .map(|queue| queues[queue].waiting.len() / used[queue])
            .min()
            .unwrap_or(0);
        for _ in 0..repeats.max(1) {
            stitch(&filling, &mut queues, &mut draft);
        }
    }
    finish(task, &mut queues, &mut draft);
    if draft
        .covers
        .iter()
        .flatten()
        .all(|choice| task.cover(*choice).count() == 1)
    {
        draft.hoopings.sort_by_key(|hooping| hooping.hoop);
    }
    draft
}

fn area(kind: &Kind) -> i128 {
    i128::from(kind.length.nanometres()) * i128::from(kind.width.nanometres())
}

/// Stitches every run that is still due by itself, in the hoop that takes it with the least stabilizer: all there is time
/// for once the time is over.
fn finish(task: &Task<'_>, queues: &mut [Queue], draft: &mut Draft) {
    for queue in 0..queues.len() {
        let kind = queues[queue].kind;
        let takes = |way: &(Length, Length, bool)| {
            kind.length + kind.margin_along <= way.0 && kind.width + kind.margin_across <= way.1
        };
        let hoops = task.scenario.hoops.iter().enumerate();
        let hoops = hoops.filter_map(|(hoop, owned)| Some((hoop, owned.ways().find(takes)?.2)));
        let least = hoops.min_by_key(|(hoop, _)| stabilizer_area(task.scenario, *hoop));
        let Some((hoop, turned)) = least else {
            continue;
        };
        let filling = Filling {
            hoop,
            turned,
            lanes: vec![vec![queue]],
        };
        while !queues[queue].waiting.is_empty() {
            stitch(&filling, queues, draft);
        }
    }
}

/// Takes the runs of a filling from their queues and puts their strips into the queues of the runs that follow.
fn stitch(filling: &Filling, queues: &mut [Queue], draft: &mut Draft) {
    let mut moved = Vec::new();
    let mut lanes = Vec::new();
    for lane in &filling.lanes {
        let mut runs = Vec::new();
        for queue in lane {
            if let Some(strip) = queues[*queue].waiting.pop() {
                runs.push((strip, queues[*queue].run));
                moved.push((*queue, strip));
            }
        }
        lanes.push(runs);
    }
    for (queue, strip) in moved {
        let class = queues[queue].class;
        if let Some(next) = queues.get_mut(queue + 1).filter(|next| next.class == class) {
            next.waiting.push(strip);
        }
    }
    draft.hoopings.push(Dealt {
        hoop: filling.hoop,
        turned: filling.turned,
        lanes,
    });
}

/// The filling that stitches the largest area, in the smallest hoop where several do; `None` where nothing is due.
fn best_filling(
    task: &Task<'_>,
    queues: &[Queue],
    order: &[usize],
    deadline: &Deadline,
) -> Option<Filling> {
    let due: Vec<usize> = order
        .iter()
        .copied()
        .filter(|queue| !queues[*queue].waiting.is_empty())
        .collect();
    let share = task.scenario.rules.share_hoopings;
    let between = task.scenario.allowances.between();
    let kinds = || due.iter().map(|queue| &queues[*queue].kind);
    let apart_along = apart(between, kinds().map(|kind| kind.margin_along));
    let apart_across = apart(between, kinds().map(|kind| kind.margin_across));
    let mut best: Option<(i128, i128, Filling)> = None;
    for (hoop, owned) in task.scenario.hoops.iter().enumerate() {
        for (along, across, turned) in owned.ways() {
            let mut filler = Filler {
                queues,
                along,
                across,
                between,
                deadline,
                used: vec![0; queues.len()],
                lanes: Vec::new(),
                widths: Vec::new(),
                margins: Vec::new(),
                free_along: along * 2,
                free_across: across * 2,
                apart_along,
                apart_across,
                open: 0,
            };
            filler.fill(&due, share);
            let area: i128 = filler
                .lanes
                .iter()
                .flatten()
                .map(|queue| area(&queues[*queue].kind))
                .sum();
            let stabilizer = stabilizer_area(task.scenario, hoop);
            let filling = Filling {
                hoop,
                turned,
                lanes: filler.lanes,
            };
            let better = best
                .as_ref()
                .is_none_or(|(most, least, _)| (area, -stabilizer) > (*most, -*least));
            if area > 0 && better {
                best = Some((area, stabilizer, filling));
            }
        }
    }
    best.map(|(_, _, filling)| filling)
}

/// What one more of things with such margins takes at least, beside its own measure, where there are others already, doubled: the distance
/// between two, less the half of a margin at the end that it may take the place of. Nothing is said where margins reach farther than that
/// distance.
fn apart(between: Length, margins: impl Iterator<Item = Length>) -> Length {
    let widest = margins.max().unwrap_or_default();
    if widest <= between {
        between * 2 - widest
    } else {
        Length::ZERO
    }
}

struct Filler<'a> {
    queues: &'a [Queue],
    along: Length,
    across: Length,
    between: Length,
    deadline: &'a Deadline,
    used: Vec<usize>,
    lanes: Vec<Lane>,
    /// The width and the margin across of each lane.
    widths: Vec<Length>,
    margins: Vec<Length>,
    /// Room left in the latest lane and across all lanes, doubled: nothing longer or wider needs to be tried.
    free_along: Length,
    free_across: Length,
    /// What a further run, or lane, takes at least beside its own measure, doubled.
    apart_along: Length,
    apart_across: Length,
    /// How many runs with open ends the latest lane holds; one that is open at both ends is alone there, and counts as three.
    open: usize,
}

impl Filler<'_> {
    /// Opens lanes with the largest runs that are due and fills each up with further ones, as long as there is time.
    fn fill(&mut self, due: &[usize], share: bool) {
        for queue in due {
            while self.has_room_across(*queue) && !self.deadline.over() {
                self.lanes.push(vec![*queue]);
                self.widths.push(Length::ZERO);
                self.margins.push(Length::ZERO);
                if !self.fits() {
                    self.lanes.pop();
                    self.widths.pop();
                    self.margins.pop();
                    break;
                }
                self.used[*queue] += 1;
                if !share {
                    return;
                }
                for other in due {
                    while self.has_room_along(*other)
                        && !self.deadline.over()
                        && self.lengthen(*other)
                    {
                        self.used[*other] += 1;
                    }
                }
            }
        }
    }

    /// Whether one more run of a queue is due.
    fn is_due(&self, queue: usize) -> bool {
        self.used[queue] < self.queues[queue].waiting.len()
    }

    /// Whether a run that is due may have room in a lane of its own, as far as is seen at a glance: most have none.
    fn has_room_across(&self, queue: usize) -> bool {
        let kind = &self.queues[queue].kind;
        let more = if self.lanes.is_empty() {
            Length::ZERO
        } else {
            self.apart_across
        };
        self.is_due(queue)
            && kind.length + kind.margin_along <= self.along
            && kind.width * 2 + more <= self.free_across
    }

    /// The same in the latest lane.
    fn has_room_along(&self, queue: usize) -> bool {
        let kind = &self.queues[queue].kind;
        let may_stand = match kind.openness {
            Openness::Closed => self.open <= 2,
            Openness::Outer => self.open < 2,
            Openness::Inner => false,
        };
        may_stand && self.is_due(queue) && kind.length * 2 + self.apart_along <= self.free_along
    }

    /// Adds a run to the latest lane, where it fits.
    fn lengthen(&mut self, queue: usize) -> bool {
        let Some(lane) = self.lanes.last_mut() else {
            return false;
        };
        lane.push(queue);
        let fits = self.fits();
        if !fits && let Some(lane) = self.lanes.last_mut() {
            lane.pop();
        }
        fits
    }

    /// Whether the lanes fit with the latest run; notes the room that is left where they do.
    fn fits(&mut self) -> bool {
        let Some(lane) = self.lanes.last() else {
            return true;
        };
        let kinds: Vec<&Kind> = lane.iter().map(|queue| &self.queues[*queue].kind).collect();
        let open: Vec<usize> = (0..kinds.len())
            .filter(|index| kinds[*index].openness != Openness::Closed)
            .collect();
        let inner = kinds.iter().any(|kind| kind.openness == Openness::Inner);
        if open.len() > 2 || inner && kinds.len() > 1 {
            return false;
        }
        let lengths: Vec<Length> = kinds.iter().map(|kind| kind.length).collect();
        let margins: Vec<Length> = kinds.iter().map(|kind| kind.margin_along).collect();
        let along = arrange(&lengths, &margins, self.between, &open).room_doubled;
        if along > self.along * 2 {
            return false;
        }
        let widest = |of: fn(&Kind) -> Length| kinds.iter().map(|kind| of(kind)).max();
        let (width, margin) = (widest(|kind| kind.width), widest(|kind| kind.margin_across));
        let before = self.broaden(width.unwrap_or_default(), margin.unwrap_or_default());
        let across = arrange(&self.widths, &self.margins, self.between, &[]).room_doubled;
        if across > self.across * 2 {
            self.broaden(before.0, before.1);
            return false;
        }
        self.free_along = self.along * 2 - along;
        self.free_across = self.across * 2 - across;
        self.open = if inner { 3 } else { open.len() };
        true
    }

    /// Gives the latest lane a width and a margin; tells those that it had.
    fn broaden(&mut self, width: Length, margin: Length) -> (Length, Length) {
        let mut before = (width, margin);
        if let Some(last) = self.widths.last_mut() {
            before.0 = std::mem::replace(last, width);
        }
        if let Some(last) = self.margins.last_mut() {
            before.1 = std::mem::replace(last, margin);
        }
        before
    }
}

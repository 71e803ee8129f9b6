//! What the store promises: whole or not at all, once, in a fair order, and nothing forgotten.

use std::fs;
use std::path::PathBuf;

use sashwright_solver::batch::{self, Batch};
use serde_json::{Value, json};

use super::*;

const NO_LIMIT: Room = Room {
    batches_each: usize::MAX,
    questions: usize::MAX,
};

/// A folder that goes with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let name = format!("sashwright-store-{name}-{}", std::process::id());
        Folder(std::env::temp_dir().join(name))
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// A batch of cushions, one for each length of their ties.
fn cushions(ties: &[u32]) -> Batch {
    let scenario: Value =
        serde_json::from_str(include_str!("../../examples/scenario.json")).expect("JSON");
    let kit = |tie: &u32| {
        let mut scenario = scenario.clone();
        scenario["strips"][0]["length"] = json!(tie);
        json!({"scenario": scenario, "copies": 2})
    };
    let kits: Vec<Value> = ties.iter().map(kit).collect();
    let document = json!({"format": 1, "name": "cushions", "kits": kits});
    batch::read(document.to_string().as_bytes()).expect("a batch")
}

fn offer(store: &Store, client: &str, key: Option<&str>, body: u8, ties: &[u32]) -> Accepted {
    let new = NewBatch {
        client,
        key,
        body: [body; 32],
        batch: &cushions(ties),
        now: 1000,
    };
    store.accept(&new, NO_LIMIT).expect("a store")
}

fn accept(store: &Store, client: &str, ties: &[u32]) -> String {
    match offer(store, client, None, 0, ties) {
        Accepted::New(id) => id,
        other => panic!("{other:?}"),
    }
}

fn ended(words: &str) -> Ended {
    let outcome = crate::batch::Outcome::without_plan(crate::batch::Ending::Feasible, Vec::new());
    Ended {
        outcome: serde_json::to_string(&outcome).expect("JSON"),
        plan: Some(words.into()),
    }
}

/// Claims a question: whose it is, and which.
fn claim(store: &Store) -> Option<Question> {
    match store.claim().expect("a store") {
        Some(Work::Question(question)) => Some(question),
        Some(other) => panic!("{other:?}"),
        None => None,
    }
}

fn finish(store: &Store, question: &Question, words: &str) -> bool {
    let finished = store.finish(question.batch, question.number, &ended(words));
    finished.expect("a store")
}

#[test]
fn a_batch_goes_its_way_from_acceptance_to_its_end() {
    let store = Store::in_memory().expect("a store");
    let id = accept(&store, "anna", &[7, 8, 7]);
    let batch = store.batch(&id).expect("a store").expect("a batch");
    // Kits 1 and 3 are alike: two questions, of four and two copies.
    assert_eq!((batch.rows, batch.copies, batch.questions), (3, 6, 2));
    let first = claim(&store).expect("a question");
    let second = claim(&store).expect("a question");
    assert_eq!((first.number, second.number), (1, 2));
    assert!(claim(&store).is_none(), "each is claimed once");
    assert!(finish(&store, &second, "b"));
    assert!(!finish(&store, &second, "c"), "what has ended stays");
    assert!(finish(&store, &first, "a"));
    let results = store.results(batch.number, 0, 10).expect("a store");
    let told: Vec<_> = results
        .iter()
        .map(|row| (row.place, row.number, row.copies))
        .collect();
    assert_eq!(told, [(1, 2, 2), (2, 1, 4)]);
    let plan = |number| {
        store
            .planned(batch.number, number)
            .expect("a store")
            .expect("there")
            .1
    };
    assert_eq!((plan(1), plan(2)), (Some("a".into()), Some("b".into())));
    let Some(Work::Adding(number)) = store.claim().expect("a store") else {
        panic!("it is to be added up");
    };
    assert_eq!(number, batch.number);
    assert!(store.claim().expect("a store").is_none());
    assert!(store.finish_batch(number, "{}", 2000).expect("a store"));
    assert!(!store.finish_batch(number, "[]", 3000).expect("a store"));
    let batch = store.batch(&id).expect("a store").expect("a batch");
    assert_eq!(
        (batch.state, batch.closed, batch.summary),
        (State::Finished, Some(2000), Some("{}".into()))
    );
    let kits = store.kits(batch.number, 1, 10).expect("a store");
    let told: Vec<_> = kits
        .iter()
        .map(|kit| (kit.id.as_str(), kit.question))
        .collect();
    assert_eq!(told, [("kit-2", 2), ("kit-3", 1)]);
}

#[test]
fn whoever_waits_longest_is_next() {
    let store = Store::in_memory().expect("a store");
    let anna = accept(&store, "anna", &[1, 2, 3, 4]);
    let anna_too = accept(&store, "anna", &[5, 6]);
    let ben = accept(&store, "ben", &[7, 8]);
    let mut order = Vec::new();
    while let Some(question) = claim(&store) {
        let whose = [(&anna, "a"), (&anna_too, "A"), (&ben, "b")];
        order.extend(
            whose
                .iter()
                .filter(|(id, _)| **id == question.batch_id)
                .map(|(_, name)| *name),
        );
    }
    // Clients in turn, and of one client its batches in turn.
    assert_eq!(order, ["a", "b", "A", "b", "a", "A", "a", "a"]);
}

#[test]
fn the_same_key_is_the_same_batch_or_none() {
    let store = Store::in_memory().expect("a store");
    let Accepted::New(id) = offer(&store, "anna", Some("k"), 1, &[7]) else {
        panic!("it is new");
    };
    assert_eq!(
        offer(&store, "anna", Some("k"), 1, &[7]),
        Accepted::Before(id)
    );
    assert_eq!(
        offer(&store, "anna", Some("k"), 2, &[8]),
        Accepted::OtherBody
    );
    assert!(matches!(
        offer(&store, "ben", Some("k"), 2, &[8]),
        Accepted::New(_)
    ));
    assert!(matches!(
        offer(&store, "anna", None, 1, &[7]),
        Accepted::New(_)
    ));
    assert_eq!(store.load().expect("a store").batches, 3);
}

#[test]
fn what_is_too_much_is_not_accepted() {
    let store = Store::in_memory().expect("a store");
    let room = Room {
        batches_each: 2,
        questions: 5,
    };
    let offer = |client: &str, ties: &[u32]| {
        let new = NewBatch {
            client,
            key: None,
            body: [0; 32],
            batch: &cushions(ties),
            now: 0,
        };
        store.accept(&new, room).expect("a store")
    };
    assert!(matches!(offer("anna", &[1, 2]), Accepted::New(_)));
    assert_eq!(offer("ben", &[1, 2, 3, 4]), Accepted::Full);
    assert!(matches!(offer("anna", &[1]), Accepted::New(_)));
    assert_eq!(offer("anna", &[1]), Accepted::TooManyOfClient);
    assert!(matches!(offer("ben", &[1, 2]), Accepted::New(_)));
    let load = store.load().expect("a store");
    assert_eq!((load.batches, load.questions), (3, 5));
}

#[test]
fn what_is_cancelled_is_worked_on_no_more() {
    let store = Store::in_memory().expect("a store");
    let id = accept(&store, "anna", &[1, 2, 3]);
    let done = claim(&store).expect("a question");
    assert!(finish(&store, &done, "a"));
    let late = claim(&store).expect("a question");
    assert!(store.cancel(&id, 7).expect("a store"));
    assert!(!store.cancel(&id, 8).expect("a store"), "once");
    assert!(claim(&store).is_none());
    assert!(!finish(&store, &late, "b"));
    let batch = store.batch(&id).expect("a store").expect("a batch");
    assert_eq!(
        (batch.state, batch.closed, batch.ended),
        (State::Cancelled, Some(7), 1)
    );
    assert_eq!(store.results(batch.number, 0, 9).expect("a store").len(), 1);
}

#[test]
fn what_was_claimed_when_the_program_ended_is_claimed_anew() {
    let folder = Folder::new("anew");
    let (id, late) = {
        let store = Store::open(&folder.0).expect("a store");
        let id = accept(&store, "anna", &[1, 2]);
        let first = claim(&store).expect("a question");
        assert!(finish(&store, &first, "a"));
        claim(&store).expect("a question");
        let late = LatePlan {
            id: "late".into(),
            told: "{}".into(),
            scenario: b"{}".to_vec(),
        };
        assert!(store.accept_late("anna", &late, 1, 0).expect("a store"));
        assert!(claim(&store).is_none());
        (id, late)
    };
    let store = Store::open(&folder.0).expect("a store");
    let Some(Work::Late(again)) = store.claim().expect("a store") else {
        panic!("late plans come first");
    };
    assert_eq!((again.id, again.scenario), (late.id, late.scenario));
    let second = claim(&store).expect("a question");
    assert_eq!((second.batch_id.as_str(), second.number), (id.as_str(), 2));
    assert!(claim(&store).is_none(), "what has ended is not done again");
    store.put_back(&Work::Question(second)).expect("a store");
    assert_eq!(claim(&store).map(|question| question.number), Some(2));
}

#[test]
fn two_programs_do_not_share_a_folder() {
    let folder = Folder::new("taken");
    let first = Store::open(&folder.0).expect("a store");
    assert!(matches!(Store::open(&folder.0), Err(StoreError::Taken(_))));
    drop(first);
    assert!(Store::open(&folder.0).is_ok());
}

#[test]
fn a_late_plan_ends_once_and_may_be_asked_for_again() {
    let store = Store::in_memory().expect("a store");
    let late = LatePlan {
        id: "x".into(),
        told: "{}".into(),
        scenario: b"s".to_vec(),
    };
    assert_eq!(store.late("x").expect("a store"), None);
    assert!(store.accept_late("anna", &late, 1, 0).expect("a store"));
    assert_eq!(store.late("x").expect("a store"), Some(LateState::Open));
    // The same one takes no more room; another one does.
    assert!(store.accept_late("anna", &late, 1, 0).expect("a store"));
    let other = LatePlan {
        id: "y".into(),
        ..late
    };
    assert!(!store.accept_late("anna", &other, 1, 0).expect("a store"));
    let plan = || LateEnd::Plan(b"p".to_vec());
    assert!(store.finish_late("x", &plan(), 1).expect("a store"));
    let problem = LateEnd::Problem("no".into());
    assert!(!store.finish_late("x", &problem, 1).expect("a store"));
    let closed = LateState::Closed(b"s".to_vec(), plan());
    assert_eq!(store.late("x").expect("a store"), Some(closed));
    let again = LatePlan {
        id: "x".into(),
        ..other
    };
    assert!(store.accept_late("anna", &again, 1, 2).expect("a store"));
    assert_eq!(store.late("x").expect("a store"), Some(LateState::Open));
}

#[test]
fn results_go_when_they_are_old_enough_and_not_before() {
    let store = Store::in_memory().expect("a store");
    let old = accept(&store, "anna", &[1]);
    let open = accept(&store, "ben", &[1]);
    assert!(store.cancel(&old, 100).expect("a store"));
    assert!(!store.expire(100).expect("a store"));
    assert!(store.batch(&old).expect("a store").is_some());
    assert!(store.expire(101).expect("a store"));
    assert!(!store.expire(101).expect("a store"));
    assert!(store.batch(&old).expect("a store").is_none());
    assert!(store.batch(&open).expect("a store").is_some());
    // Its key is free again, and its parts are gone with it.
    let left: i64 = store
        .connection()
        .query_row(
            "SELECT (SELECT count(*) FROM question) + (SELECT count(*) FROM kit)",
            [],
            |row| row.get(0),
        )
        .expect("a count");
    assert_eq!(left, 2);
}

/// The database of the first version, as it was released, opens in every later one. Its text is kept, not made by the program.
#[test]
fn the_first_version_is_brought_to_this_one() {
    let folder = Folder::new("first");
    fs::create_dir_all(&folder.0).expect("a folder");
    let first = Connection::open(folder.0.join("sashwright.sqlite")).expect("a database");
    first
        .execute_batch(include_str!("first.sql"))
        .expect("the first version");
    first
        .execute_batch(
            "PRAGMA user_version = 1;
             INSERT INTO client (name) VALUES ('anna');
             INSERT INTO batch (id, client, body, name, rows, copies, questions, state, accepted, claimed)
                 VALUES ('old', 'anna', x'00', 'old', 1, 1, 1, 'open', 5, 0);
             INSERT INTO question (batch, number, scenario, copies, claimed) VALUES (1, 1, '{}', 1, 1);",
        )
        .expect("a batch of then");
    drop(first);
    let store = Store::open(&folder.0).expect("a store");
    let question = claim(&store).expect("its question");
    assert_eq!(
        (question.batch_id.as_str(), question.scenario.as_str()),
        ("old", "{}")
    );
}

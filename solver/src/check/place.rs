//! A place in the plan document, written out only where something is broken there.

use std::fmt;

/// A JSON Pointer (RFC 6901) into the plan: where it starts from, and one step further.
///
/// A valid plan of many strips has millions of places and none of them is ever shown, so a place lives on the stack
/// until it is displayed. Its names are the document's own, which need no escapes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place<'p> {
    within: Option<&'p Place<'p>>,
    step: Step,
}

/// A field of an object by its name, or an item of a list by its index.
#[derive(Clone, Copy, Debug)]
pub(super) enum Step {
    Field(&'static str),
    Item(usize),
}

impl From<&'static str> for Step {
    fn from(name: &'static str) -> Step {
        Step::Field(name)
    }
}

impl From<usize> for Step {
    fn from(index: usize) -> Step {
        Step::Item(index)
    }
}

impl Place<'_> {
    /// A field of the document itself.
    pub(super) fn of(field: &'static str) -> Place<'static> {
        Place {
            within: None,
            step: Step::Field(field),
        }
    }

    /// A field or an item of what is here.
    pub(super) fn at(&self, step: impl Into<Step>) -> Place<'_> {
        Place {
            within: Some(self),
            step: step.into(),
        }
    }
}

impl fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(within) = self.within {
            within.fmt(f)?;
        }
        match self.step {
            Step::Field(name) => write!(f, "/{name}"),
            Step::Item(index) => write!(f, "/{index}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Place;

    #[test]
    fn steps_are_written_from_the_document_down() {
        let strips = Place::of("strips");
        let strip = strips.at(3);
        assert_eq!(strips.to_string(), "/strips");
        assert_eq!(
            strip.at("runs").at(0).at("from").to_string(),
            "/strips/3/runs/0/from"
        );
    }
}

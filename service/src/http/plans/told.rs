//! What a plan may be told beside the scenario, and the name that the plan has for both.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::http::digest::digest;
use crate::http::form::Form;
use crate::http::problem::{Kind, Problem};
use crate::question::Planning;
use crate::solve::Planner;
use crate::store::LatePlan;

/// What a plan may be told beside the scenario.
#[derive(Clone, Copy, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(in crate::http) struct ForPlan {
    /// Whether the plan is explained as well.
    #[serde(default)]
    explain: bool,
    /// Whether it tells how cloths are cut and what is bought.
    #[serde(default)]
    materials: bool,
    /// Whether it tells what is done, step after step.
    #[serde(default)]
    steps: bool,
}

impl ForPlan {
    /// With what the form shows beside the plan, as the command line adds it.
    pub(super) fn shown_by(self, form: Form) -> ForPlan {
        ForPlan {
            explain: self.explain,
            materials: self.materials || form.has_materials(),
            steps: self.steps || form.has_steps(),
        }
    }

    pub(super) fn question(self, planner: Planner) -> Planning {
        Planning {
            planner,
            explain: self.explain,
            materials: self.materials,
            steps: self.steps,
        }
    }

    /// The plan of a scenario's text as one that is late.
    pub(super) fn late(self, id: &str, scenario: &[u8]) -> Result<LatePlan, Problem> {
        let told = serde_json::to_string(&self).map_err(|error| {
            tracing::error!(%error, "the options of a plan cannot be written");
            Problem::plain(Kind::Internal)
        })?;
        Ok(LatePlan {
            id: id.into(),
            told,
            scenario: scenario.to_vec(),
        })
    }

    /// The name of the plan of a scenario's text. It says nothing of the scenario, and who does not have that cannot guess it.
    pub(super) fn id(self, scenario: &[u8]) -> String {
        let told = [self.explain, self.materials, self.steps].map(u8::from);
        digest(&[&told, scenario])
    }
}

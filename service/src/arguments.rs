//! The arguments of the command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};

/// Plans quilt borders and sashing that are stitched in embroidery hoops.
///
/// Exit status: 0 done; 2 the scenario or the plan is faulty; 3 strips cannot be stitched; 1 anything else.
#[derive(Parser, Debug)]
#[command(version)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Subcommand, Debug)]
pub enum Command {
    /// Plan a scenario: which hoop and size for which stretch, in which order
    Plan {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// Words for the sewing table, or the plan document for programs
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        /// File to write instead of standard output; it is replaced only once the plan is complete
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Check any plan against its scenario, and list every rule that it breaks
    Check {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// File with the plan (JSON); `-` reads standard input
        plan: PathBuf,
    },
    /// Print the JSON Schema (2020-12) of a document
    Schema {
        /// Which document
        #[arg(value_enum)]
        document: Document,
    },
    /// Answer over HTTP until told to stop (SIGTERM or Ctrl-C)
    Serve {
        /// Address and port to listen on; port 0 takes any free port
        #[arg(long, value_name = "ADDRESS:PORT", default_value = "127.0.0.1:8080")]
        listen: String,
    },
}

/// How a plan is written.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Format {
    /// For a person at the sewing table.
    Text,
    /// The plan document.
    Json,
}

/// A document that has a schema.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Document {
    /// What is asked.
    Scenario,
    /// What is answered.
    Plan,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_arguments_are_consistent() {
        use clap::CommandFactory;
        Arguments::command().debug_assert();
    }
}

//! The arguments of the command line.

use std::path::PathBuf;

use axum::http::HeaderValue;
use clap::{Args, Parser, Subcommand, ValueEnum};
use schemars::JsonSchema;
use serde::Deserialize;

use crate::http::origin;

/// Plans quilt borders and sashing that are stitched in embroidery hoops.
///
/// Exit status: 0 done; 2 the scenario or the plan is faulty; 3 strips cannot be stitched; 1 anything else.
#[derive(Parser, Debug)]
#[command(version = crate::version::FULL)]
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
        /// Explain the plan as well: why so many hoopings, and what a change would save
        #[arg(long)]
        explain: bool,
        /// Tell as well how cloths are cut and what is bought
        #[arg(long)]
        materials: bool,
        /// Tell as well what is done step after step, from cutting to the assembled top
        #[arg(long)]
        steps: bool,
        /// What a PDF is printed on; if not told, letter where the scenario's unit is inch, a4 where it is millimetre
        #[arg(long, value_enum)]
        paper: Option<Paper>,
        /// How the plan is written
        #[command(flatten)]
        output: Output,
    },
    /// Compare hoops: what each brings, what could be done without, what another one would save
    Compare {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// Compare every set of hoops, not only each alone and all but each (up to 8 hoops)
        #[arg(long)]
        every_set: bool,
        /// How the comparison is written
        #[command(flatten)]
        output: Output,
    },
    /// Explain a plan: what every plan needs, where there is room left, what one change would save
    Explain {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// How the explanation is written
        #[command(flatten)]
        output: Output,
    },
    /// Make it fit: widths of coping strips and sashing with which the patterns become whole repeats
    Cope {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// How the fits are written
        #[command(flatten)]
        output: Output,
    },
    /// What now? What is left of a plan after some work, what changes, and the next step
    Replan {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// File with its plan (JSON); `-` reads standard input
        plan: PathBuf,
        /// File that says what is done and what went wrong (JSON); `-` reads standard input
        progress: PathBuf,
        /// Tell the next step only
        #[arg(long)]
        next: bool,
        /// How the answer is written
        #[command(flatten)]
        output: Output,
    },
    /// Plan a run of kits into a folder: each different kit once, and what all of them add up to. Run again it goes on where it was
    Batch {
        /// File with the batch (JSON); `-` reads standard input
        batch: PathBuf,
        /// Folder for plans, kits and summary, and for what is needed to go on
        #[arg(long, value_name = "DIR")]
        into: PathBuf,
        /// Words at the end, or a line of JSON for each plan as it comes
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
    },
    /// Check any plan against its scenario, and list every rule that it breaks; or a scenario alone, without planning it
    Check {
        /// File with the scenario (JSON); `-` reads standard input
        scenario: PathBuf,
        /// File with the plan (JSON); `-` reads standard input. Without it the scenario alone is checked
        plan: Option<PathBuf>,
    },
    /// Print the JSON Schema (2020-12) of a document
    Schema {
        /// Which document
        #[arg(value_enum)]
        document: Document,
    },
    /// Make a key for somebody who may use the service: the key goes to standard output, its line for the keys' file to standard error
    Key {
        /// Whose it is
        name: String,
    },
    /// Answer over HTTP until told to stop (SIGTERM or Ctrl-C)
    Serve(Serving),
}

/// How the service is run. Each can be told by an environment variable as well; what the command line tells goes first.
#[derive(Args, Clone, Debug)]
pub struct Serving {
    /// Address and port to listen on; port 0 takes any free port
    #[arg(
        long,
        value_name = "ADDRESS:PORT",
        default_value = "127.0.0.1:8080",
        env = "SASHWRIGHT_LISTEN"
    )]
    pub listen: String,
    /// Folder in which batches and late plans are kept, so that they outlast the program; without it they end with it
    #[arg(long, value_name = "DIR", env = "SASHWRIGHT_DATA")]
    pub data: Option<PathBuf>,
    /// Days for which results of batches and late plans are kept once they are there
    #[arg(long, value_name = "DAYS", default_value_t = 7, value_parser = clap::value_parser!(u16).range(1..), env = "SASHWRIGHT_KEEP_DAYS")]
    pub keep_days: u16,
    /// File with the keys of those who may use the service (JSON); needed where others than this machine can reach it
    #[arg(long, value_name = "FILE", env = "SASHWRIGHT_KEYS")]
    pub keys: Option<PathBuf>,
    /// Seconds that running requests get to finish once the service is told to stop
    #[arg(
        long,
        value_name = "SECONDS",
        default_value_t = 10,
        env = "SASHWRIGHT_DRAIN_SECONDS"
    )]
    pub drain_seconds: u16,
    /// File with the certificates that the service shows, its own first (PEM); with it and --private-key everything is encrypted (TLS)
    #[arg(
        long,
        value_name = "FILE",
        requires = "private_key",
        env = "SASHWRIGHT_CERTIFICATE"
    )]
    pub certificate: Option<PathBuf>,
    /// File with the private key of the service's own certificate (PEM)
    #[arg(
        long,
        value_name = "FILE",
        requires = "certificate",
        env = "SASHWRIGHT_PRIVATE_KEY"
    )]
    pub private_key: Option<PathBuf>,
    /// Origin of web pages that may ask from a browser, such as `https://kits.example`; several with commas between
    #[arg(long, value_name = "ORIGIN", value_delimiter = ',', value_parser = origin, env = "SASHWRIGHT_ORIGINS")]
    pub origins: Vec<HeaderValue>,
    /// Solves at once; a core each if not told
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..), env = "SASHWRIGHT_SOLVES")]
    pub solves: Option<u16>,
    /// Requests that may wait for their solve; four for each solve if not told
    #[arg(long, value_name = "NUMBER", env = "SASHWRIGHT_WAITING")]
    pub waiting: Option<u16>,
    /// Plans of batches at once, with the lowest priority; all cores but one if not told
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..), env = "SASHWRIGHT_WORKERS")]
    pub workers: Option<u16>,
    /// The largest body of a request, in MiB
    #[arg(long, value_name = "MIB", default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=64), env = "SASHWRIGHT_LARGEST_BODY")]
    pub largest_body: u16,
    /// The largest batch, in MiB
    #[arg(long, value_name = "MIB", default_value_t = 16, value_parser = clap::value_parser!(u16).range(1..=64), env = "SASHWRIGHT_LARGEST_BATCH")]
    pub largest_batch: u16,
    /// Connections at once
    #[arg(long, value_name = "NUMBER", default_value_t = 1024, value_parser = clap::value_parser!(u16).range(1..), env = "SASHWRIGHT_CONNECTIONS")]
    pub connections: u16,
    /// Connections of one address at once; behind a proxy all have the proxy's
    #[arg(long, value_name = "NUMBER", default_value_t = 256, value_parser = clap::value_parser!(u16).range(1..), env = "SASHWRIGHT_CONNECTIONS_EACH")]
    pub connections_each: u16,
    /// How log lines are written
    #[arg(long, value_enum, default_value_t = LogForm::Text, env = "SASHWRIGHT_LOG")]
    pub log: LogForm,
    /// What the log tells at least
    #[arg(long, value_enum, default_value_t = LogLevel::Info, env = "SASHWRIGHT_LOG_LEVEL")]
    pub log_level: LogLevel,
}

/// What the log tells at least.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum LogLevel {
    /// What failed.
    Error,
    /// What should be looked at as well.
    Warn,
    /// Every request as well.
    Info,
    /// Why connections ended as well.
    Debug,
}

/// How log lines are written.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum LogForm {
    /// For a person.
    Text,
    /// For programs: a JSON document in each line.
    Json,
}

/// How and where an answer is written.
#[derive(Args, Clone, Debug)]
pub struct Output {
    /// Words for the sewing table, or a document for programs
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// File to write instead of standard output; it is replaced only once the answer is complete. Of pictures, the folder for them
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// What a PDF is printed on, where that is told.
    #[arg(skip)]
    pub paper: Option<Paper>,
}

/// For whom an answer is written.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Format {
    /// For a person at the sewing table.
    Text,
    /// The document, JSON.
    Json,
    /// Sheets to print, as one page for a browser; of a plan only.
    Html,
    /// Sheets to print, as a PDF; of a plan only.
    Pdf,
    /// The pictures of the sheets, each a file of its own; of a plan only.
    Svg,
    /// The cut list for a spreadsheet (RFC 4180); of a plan only.
    Csv,
}

/// What is printed on.
#[derive(ValueEnum, Deserialize, JsonSchema, Clone, Copy, PartialEq, Eq, Debug)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum Paper {
    /// 210 × 297 mm.
    A4,
    /// 8 1/2 × 11 in.
    Letter,
}

/// A document that has a schema.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Document {
    /// What is asked.
    Scenario,
    /// How it is stitched.
    Plan,
    /// What each set of hoops brings.
    Comparison,
    /// What binds a plan.
    Explanation,
    /// Which widths fit.
    Fits,
    /// How far the work has come.
    Progress,
    /// What is left to do.
    Replan,
    /// A run of kits.
    Batch,
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

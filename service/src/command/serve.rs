//! `serve`: listens on an address and answers until told to stop.

use std::io::{IsTerminal, Write};
use std::net::{SocketAddr, TcpListener, ToSocketAddrs};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use tracing::Level;

use crate::arguments::{LogForm, LogLevel, Serving};
use crate::command::{Exit, fail};
use crate::files;
use crate::http::{self, Door, Service, Settings, Tls, WAITING_FOR_EACH};
use crate::keys::Keys;
use crate::solve;
use crate::store::{Seconds, Store, StoreError};

/// How long the program waits for tasks that are left once the service has stopped.
const LAST_WAIT: Duration = Duration::from_millis(200);

/// Seconds of a day.
const DAY: Seconds = 24 * 3600;

/// Serves until SIGTERM or SIGINT.
pub(super) fn run(serving: &Serving, err: &mut dyn Write) -> Exit {
    let (listener, access) = match prepare(serving) {
        Ok(prepared) => prepared,
        Err(reason) => return fail(err, &reason),
    };
    start_log(serving.log, serving.log_level);
    let runtime = match tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
    {
        Ok(runtime) => runtime,
        Err(error) => return fail(err, &format!("Cannot start the service: {error}.")),
    };
    let store = match open(serving.data.as_deref()) {
        Ok(store) => store,
        Err(reason) => return fail(err, &reason),
    };
    let settings = settings(serving, access.keys.is_some());
    let tls = access.tls.map(Arc::new);
    let service = Service::new(solve::planner(), settings, store, access.keys);
    let door = Door {
        listener,
        tls: tls.clone(),
    };
    let again = (serving.clone(), service.clone());
    let reread = move || reread(&again.0, &again.1, tls.as_deref());
    let served = runtime.block_on(http::serve(door, service, reread));
    runtime.shutdown_timeout(LAST_WAIT);
    match served {
        Ok(()) => Exit::Done,
        Err(error) => fail(err, &format!("The service failed: {error}.")),
    }
}

/// What can be wrong with how the service was started: where it listens, and who may use it.
fn prepare(serving: &Serving) -> Result<(TcpListener, Access), String> {
    let listener = bind(&serving.listen)?;
    let access = Access::read(serving)?;
    match listener.local_addr() {
        // Where others than this machine can reach it, there have to be keys.
        Ok(address) if !address.ip().is_loopback() && access.keys.is_none() => Err(format!(
            "Others can reach {address}, and nobody needs a key. Give --keys FILE with the keys of those who may use the service (the command key makes them), or listen on 127.0.0.1."
        )),
        Ok(_) => Ok((listener, access)),
        Err(error) => Err(format!("Cannot tell where the service listens: {error}.")),
    }
}

/// How much it takes on.
fn settings(serving: &Serving, keyed: bool) -> Settings {
    let usual = Settings::default();
    let told = |number: Option<u16>, usual| number.map_or(usual, usize::from);
    let solves = told(serving.solves, usual.solves);
    let waiting = told(serving.waiting, WAITING_FOR_EACH * solves);
    let all = solves + waiting;
    Settings {
        solves,
        waiting,
        // With keys it is known who asks: none takes all places, and none sees another's batches.
        inside_each: if keyed { all.div_ceil(2) } else { all },
        batches_apart: keyed,
        workers: told(serving.workers, usual.workers),
        largest_body: usize::from(serving.largest_body) << 20,
        largest_batch: usize::from(serving.largest_batch) << 20,
        connections: serving.connections.into(),
        connections_each: serving.connections_each.into(),
        origins: serving.origins.clone(),
        keep_results: Seconds::from(serving.keep_days) * DAY,
        drain: Duration::from_secs(serving.drain_seconds.into()),
        ..usual
    }
}

/// Who may use the service, and how what they send is encrypted.
struct Access {
    keys: Option<Keys>,
    tls: Option<Tls>,
}

impl Access {
    fn read(serving: &Serving) -> Result<Access, String> {
        let keys = serving.keys.as_deref().map(read_keys).transpose()?;
        let tls = match certified(serving)? {
            Some(told) => Some(Tls::new(&told.chain, &told.key).map_err(certificates_faulty)?),
            None => None,
        };
        Ok(Access { keys, tls })
    }
}

/// Reads keys and certificates again; where they are faulty, what was there stays.
fn reread(serving: &Serving, service: &Service, tls: Option<&Tls>) {
    if let Some(path) = &serving.keys {
        match read_keys(path) {
            Ok(keys) => {
                service.replace_keys(keys);
                tracing::info!("the keys were read again");
            }
            Err(reason) => tracing::error!("the keys stay as they were: {reason}"),
        }
    }
    let Some(tls) = tls else { return };
    let replaced = match certified(serving) {
        Ok(Some(told)) => tls
            .replace(&told.chain, &told.key)
            .map_err(certificates_faulty),
        Ok(None) => return,
        Err(reason) => Err(reason),
    };
    match replaced {
        Ok(()) => tracing::info!("the certificates were read again"),
        Err(reason) => tracing::error!("the certificates stay as they were: {reason}"),
    }
}

fn read_keys(path: &Path) -> Result<Keys, String> {
    let text = files::read(path)?;
    Keys::read(&text)
        .map_err(|reason| format!("The keys in {} are faulty: {reason}.", files::name(path)))
}

/// What the files of certificates hold.
struct Certified {
    chain: Vec<u8>,
    key: Vec<u8>,
}

/// The certificates and their private key, where they are told.
fn certified(serving: &Serving) -> Result<Option<Certified>, String> {
    let (Some(chain), Some(key)) = (&serving.certificate, &serving.private_key) else {
        return Ok(None);
    };
    Ok(Some(Certified {
        chain: files::read(chain)?,
        key: files::read(key)?,
    }))
}

fn certificates_faulty(reason: String) -> String {
    format!("The service cannot be encrypted: {reason}.")
}

/// Opens the store in a folder, or one that ends with the program.
fn open(data: Option<&Path>) -> Result<Store, String> {
    let opened = match data {
        Some(folder) => Store::open(folder),
        None => Store::in_memory(),
    };
    opened.map_err(|error| match error {
        StoreError::Taken(folder) => format!(
            "Another sashwright works with the folder {folder}. Stop it, or give another folder with --data."
        ),
        error => format!("Cannot keep batches: {error}. Give another folder with --data."),
    })
}

/// Listens on the first address that the text names.
fn bind(listen: &str) -> Result<TcpListener, String> {
    let unreadable = |reason: &dyn std::fmt::Display| {
        format!(
            "Cannot read {listen:?} as an address to listen on: {reason}. Give an address and a port, such as 127.0.0.1:8080."
        )
    };
    let mut addresses = listen
        .to_socket_addrs()
        .map_err(|error| unreadable(&error))?;
    let address: SocketAddr = addresses
        .next()
        .ok_or_else(|| unreadable(&"it names no address"))?;
    TcpListener::bind(address).map_err(|error| {
        format!("Cannot listen on {address}: {error}. Give another address or port with --listen.")
    })
}

/// Log lines go to standard error, in colour only on a terminal.
fn start_log(form: LogForm, level: LogLevel) {
    let level = match level {
        LogLevel::Error => Level::ERROR,
        LogLevel::Warn => Level::WARN,
        LogLevel::Info => Level::INFO,
        LogLevel::Debug => Level::DEBUG,
    };
    let log = tracing_subscriber::fmt()
        .with_max_level(level)
        .with_writer(std::io::stderr)
        // Where standard error is closed there is nobody to tell that a line was lost.
        .log_internal_errors(false);
    // A second log in one process, which only a test could ask for, leaves the first in place.
    let _ = match form {
        LogForm::Text => {
            let log = log.with_ansi(std::io::stderr().is_terminal()).finish();
            tracing::subscriber::set_global_default(log)
        }
        LogForm::Json => {
            let log = log
                .json()
                .flatten_event(true)
                .with_current_span(false)
                .with_span_list(false);
            tracing::subscriber::set_global_default(log.finish())
        }
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_that_is_taken_or_unreadable_is_told() {
        let taken = bind("127.0.0.1:0").expect("a free port");
        let address = taken.local_addr().expect("its address").to_string();
        let reason = bind(&address).expect_err("taken");
        assert!(
            reason.contains(&address) && reason.contains("--listen"),
            "{reason}"
        );
        let reason = bind("nonsense").expect_err("no port");
        assert!(
            reason.contains("nonsense") && reason.contains("8080"),
            "{reason}"
        );
    }
}

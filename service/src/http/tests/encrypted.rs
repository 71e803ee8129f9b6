//! The service with certificates: what it answers is encrypted, and the certificates can be replaced.

use std::sync::Arc;

use rcgen::{CertifiedKey, KeyPair, generate_simple_self_signed};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

use super::connections::until_open;
use super::service;
use super::sockets::{Running, start_with};
use crate::http::{Settings, Tls};
use crate::text::tests::plan;

/// A name that is reserved for examples (RFC 2606).
const NAME: &str = "trial.example";

fn made() -> CertifiedKey<KeyPair> {
    generate_simple_self_signed([NAME.to_string()]).expect("a certificate")
}

fn pem(made: &CertifiedKey<KeyPair>) -> (String, String) {
    (made.cert.pem(), made.signing_key.serialize_pem())
}

/// Connects as a client that trusts this certificate alone.
async fn connect(
    running: &Running,
    trusted: &CertifiedKey<KeyPair>,
) -> std::io::Result<TlsStream<TcpStream>> {
    let mut roots = RootCertStore::empty();
    roots
        .add(trusted.cert.der().clone())
        .expect("a certificate");
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(roots)
        .with_no_client_auth();
    let stream = TcpStream::connect(running.address).await?;
    let name = ServerName::try_from(NAME).expect("a name");
    TlsConnector::from(Arc::new(config))
        .connect(name, stream)
        .await
}

#[tokio::test]
async fn what_is_encrypted_is_answered_and_what_is_not_is_cut() {
    let (old, new) = (made(), made());
    let (chain, key) = pem(&old);
    let tls = Arc::new(Tls::new(chain.as_bytes(), key.as_bytes()).expect("certificates"));
    let service = service(Arc::new(|_, _| Ok(plan())), Settings::default()).0;
    let running = start_with(service, Some(tls.clone()));
    let request = b"GET /v1/health HTTP/1.1\r\nHost: trial\r\nConnection: close\r\n\r\n";

    let mut stream = connect(&running, &old).await.expect("agreed");
    stream.write_all(request).await.expect("sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    assert!(connect(&running, &new).await.is_err());

    let mut plain = TcpStream::connect(running.address).await.expect("one");
    plain.write_all(request).await.expect("sent");
    let mut answer = Vec::new();
    // An alert of TLS, or nothing.
    let _ = plain.read_to_end(&mut answer).await;
    assert!(!answer.starts_with(b"HTTP"));

    // With others in their place, and with faulty ones, for which those stay.
    let (chain, key) = pem(&new);
    tls.replace(chain.as_bytes(), key.as_bytes())
        .expect("others");
    assert!(tls.replace(chain.as_bytes(), b"").is_err());
    assert!(connect(&running, &new).await.is_ok());
    assert!(connect(&running, &old).await.is_err());
    running.end().await;
}

/// A client that never says how to encrypt does not hold up the stop.
#[tokio::test]
async fn a_client_that_says_nothing_does_not_hold_up_the_stop() {
    let (chain, key) = pem(&made());
    let tls = Arc::new(Tls::new(chain.as_bytes(), key.as_bytes()).expect("certificates"));
    let service = service(Arc::new(|_, _| Ok(plan())), Settings::default()).0;
    let running = start_with(service.clone(), Some(tls));
    let mut silent = TcpStream::connect(running.address).await.expect("one");
    until_open(&service, 1).await;
    let begun = std::time::Instant::now();
    running.end().await;
    assert!(begun.elapsed() < super::PATIENCE / 4);
    let mut answer = Vec::new();
    let _ = silent.read_to_end(&mut answer).await;
    assert!(answer.is_empty());
}

#[test]
fn faulty_certificates_are_told_without_the_key() {
    let ((chain, key), (_, other)) = (pem(&made()), pem(&made()));
    assert!(Tls::new(chain.as_bytes(), key.as_bytes()).is_ok());
    let broken = chain.replace("END CERTIFICATE", "END");
    for (chain, key, words) in [
        ("", key.as_str(), "no certificate"),
        (broken.as_str(), &key, "no PEM"),
        (&chain, "", "no private key"),
        (&chain, &chain, "no private key"),
        (&chain, &other, "do not go together"),
    ] {
        let reason = Tls::new(chain.as_bytes(), key.as_bytes()).err();
        let reason = reason.expect("a fault");
        assert!(reason.contains(words), "{reason}");
        let secret = key.lines().nth(1).unwrap_or("no line");
        assert!(!reason.contains(secret), "{reason}");
    }
}

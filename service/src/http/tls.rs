//! Encryption (TLS 1.2 and 1.3, by rustls), where there are certificates; they can be replaced while the service runs.

use std::sync::{Arc, PoisonError, RwLock};

use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

/// What the service shows of itself, and proves it with.
pub struct Tls(RwLock<Arc<ServerConfig>>);

impl Tls {
    /// Takes the chain of certificates, the service's own first, and the private key of that one, both as PEM (RFC 7468).
    ///
    /// # Errors
    /// A sentence that says what is wrong with them, without anything of the key.
    pub fn new(chain: &[u8], key: &[u8]) -> Result<Tls, String> {
        Ok(Tls(RwLock::new(config(chain, key)?)))
    }

    /// Takes others in their place, for connections that come from now on.
    ///
    /// # Errors
    /// As [`Tls::new`]; then those that were there stay.
    pub fn replace(&self, chain: &[u8], key: &[u8]) -> Result<(), String> {
        let config = config(chain, key)?;
        *self.0.write().unwrap_or_else(PoisonError::into_inner) = config;
        Ok(())
    }

    /// What makes the next connection an encrypted one.
    pub(super) fn acceptor(&self) -> TlsAcceptor {
        let config = self.0.read().unwrap_or_else(PoisonError::into_inner);
        TlsAcceptor::from(config.clone())
    }
}

fn config(chain: &[u8], key: &[u8]) -> Result<Arc<ServerConfig>, String> {
    let chain = CertificateDer::pem_slice_iter(chain).collect::<Result<Vec<_>, _>>();
    let chain = chain.map_err(|error| format!("the certificates are no PEM ({error})"))?;
    if chain.is_empty() {
        return Err("there is no certificate: give a chain as PEM, the service's own first".into());
    }
    let key = PrivateKeyDer::from_pem_slice(key)
        .map_err(|_| "there is no private key: give it as PEM, not encrypted")?;
    let mut config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|error| error.to_string())?
        .with_no_client_auth()
        .with_single_cert(chain, key)
        .map_err(|error| format!("certificate and key do not go together ({error})"))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}

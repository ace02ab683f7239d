//! DKIM (RFC 6376): signs mail so that receivers know that it comes from the sender's domain.

use config::service::Dkim;
use lettre::message::dkim::{
    DkimCanonicalization, DkimCanonicalizationType, DkimConfig, DkimSigningAlgorithm,
    DkimSigningKey,
};
use lettre::message::header::HeaderName;

/// Fields that are signed: those of RFC 6376, 5.4.1, that the mail has, and both that let readers
/// leave, which RFC 8058, 4, insists on.
const SIGNED: [&str; 10] = [
    "From",
    "To",
    "Subject",
    "Date",
    "Message-ID",
    "MIME-Version",
    "Content-Type",
    "List-Id",
    "List-Unsubscribe",
    "List-Unsubscribe-Post",
];

/// A key made ready, or why it cannot be used.
pub fn signer(dkim: &Dkim) -> Result<DkimConfig, String> {
    let path = dkim.key_file.display();
    let text = std::fs::read_to_string(&dkim.key_file)
        .map_err(|e| format!("the DKIM key {path} cannot be read: {e}"))?;
    let algorithm = match text.contains("-----BEGIN") {
        true => DkimSigningAlgorithm::Rsa,
        false => DkimSigningAlgorithm::Ed25519,
    };
    let key = DkimSigningKey::new(text.trim(), algorithm).map_err(|_| {
        format!(
            "the DKIM key {path} is none; expected an RSA key (PEM, PKCS #1, beginning \"-----BEGIN \
             RSA PRIVATE KEY-----\", as `openssl genrsa -traditional 2048` makes it) or the 32 bytes \
             of an Ed25519 key in base64"
        )
    })?;
    let relaxed = DkimCanonicalizationType::Relaxed;
    Ok(DkimConfig::new(
        dkim.selector.clone(),
        dkim.domain.clone(),
        key,
        SIGNED.map(HeaderName::new_from_ascii_str).to_vec(),
        // servers on the way may fold fields anew
        DkimCanonicalization {
            header: relaxed,
            body: relaxed,
        },
    ))
}

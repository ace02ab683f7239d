//! Posts to the addresses of `[[webhook]]`, signed as the Standard Webhooks specification has it
//! (version 1): HMAC-SHA-256 over "id.timestamp.body", so that a receiver knows whom it is from,
//! when it was made, and whether it came before.

use super::secret;
use crate::deliveries::WebhookContents;
use crate::deliveries::key::keyed;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use config::service::Webhook;
use hmac::Mac;
use ingest::fetch::{NotTaken, Poster};
use secrecy::{ExposeSecret, SecretSlice};
use std::time::Duration;
use url::Url;

/// The longest wait for an answer; common practice, no source.
const TIMEOUT: Duration = Duration::from_secs(30);

/// The lengths that the specification allows for a key, bytes.
const KEY_BYTES: std::ops::RangeInclusive<usize> = 24..=64;

/// What the specification marks a secret with.
const PREFIX: &str = "whsec_";

/// A webhook ready to be posted to.
pub struct Post {
    url: Url,
    key: Option<SecretSlice<u8>>,
    poster: Poster,
}

impl Post {
    /// Reads the secret.
    ///
    /// # Errors
    /// A sentence where it cannot be used.
    pub fn of(webhook: &Webhook) -> Result<Self, String> {
        let told = |why| format!("the secret of webhook {:?}: {why}", webhook.id);
        let key = match &webhook.secret {
            Some(place) => {
                let secret = secret::read(place).map_err(told)?;
                let key = key(secret.expose_secret()).ok_or_else(|| {
                    let place = secret::place(place);
                    told(format!(
                        "{place} holds none; expected 24 to 64 bytes in base64, with whsec_ before \
                         them or without, as `openssl rand -base64 32` makes them"
                    ))
                })?;
                Some(key)
            }
            None => None,
        };
        Ok(Post {
            url: webhook.url.clone(),
            key,
            poster: Poster::new(TIMEOUT, webhook.private).map_err(|e| e.to_string())?,
        })
    }

    /// Posts once; gives the receiver's status.
    ///
    /// # Errors
    /// [`NotTaken`], by kind.
    pub async fn send(
        &self,
        contents: &WebhookContents,
        id: &str,
        now: DateTime<Utc>,
    ) -> Result<u16, NotTaken> {
        let timestamp = now.timestamp().to_string();
        let mut fields = vec![
            ("content-type", contents.content_type.as_str()),
            ("webhook-id", id),
            ("webhook-timestamp", timestamp.as_str()),
        ];
        let signed = self.key.as_ref().map(|key| {
            let key = key.expose_secret();
            signature(key, id, now.timestamp(), contents.body.as_bytes())
        });
        if let Some(signature) = &signed {
            fields.push(("webhook-signature", signature));
        }
        let body = contents.body.clone().into_bytes();
        self.poster.post(&self.url, &fields, body, now).await
    }
}

fn key(secret: &str) -> Option<SecretSlice<u8>> {
    let bare = secret.strip_prefix(PREFIX).unwrap_or(secret);
    let key = STANDARD.decode(bare.trim()).ok()?;
    KEY_BYTES.contains(&key.len()).then(|| key.into())
}

/// The value of webhook-signature.
fn signature(key: &[u8], id: &str, timestamp: i64, body: &[u8]) -> String {
    let mut mac = keyed(key);
    mac.update(format!("{id}.{timestamp}.").as_bytes());
    mac.update(body);
    format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECRET: &str = "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";

    /// The vector of the test suites of the specification's reference libraries.
    #[test]
    fn the_signature_is_that_of_the_specification() {
        let key = key(SECRET).expect("a key");
        let made = signature(
            key.expose_secret(),
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            1_614_265_330,
            br#"{"test": 2432232314}"#,
        );
        assert_eq!(made, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
    }

    #[test]
    fn a_secret_is_base64_of_a_fit_length() {
        let bytes = |s: &str| key(s).map(|k| k.expose_secret().to_vec());
        assert_eq!(bytes(SECRET), bytes(&format!("whsec_{SECRET}")));
        for bad in ["", "whsec_", "hunter2", "c2hvcnQ="] {
            assert_eq!(bytes(bad), None, "{bad}");
        }
    }
}

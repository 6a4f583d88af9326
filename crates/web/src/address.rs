//! Where the page is: the address that is listened on, and the random token without which nothing is
//! answered. A web site that a browser has open beside it cannot know the token.

use std::net::{IpAddr, SocketAddr};
use subtle::ConstantTimeEq;

/// 128 random bits as 32 hexadecimal digits.
#[derive(Clone)]
pub struct Token(String);

impl Token {
    /// A token of its own for every run.
    ///
    /// # Errors
    /// When the operating system has no random numbers.
    pub fn new() -> Result<Token, getrandom::Error> {
        let mut bits = [0u8; 16];
        getrandom::fill(&mut bits)?;
        Ok(Token(
            bits.iter().map(|byte| format!("{byte:02x}")).collect(),
        ))
    }

    /// Its digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether `given` is it; how long the answer takes does not tell how much of it is right.
    pub(crate) fn is(&self, given: &str) -> bool {
        self.0.as_bytes().ct_eq(given.as_bytes()).into()
    }
}

/// The address that is listened on.
#[derive(Clone)]
pub struct Address {
    socket: SocketAddr,
    token: Token,
}

impl Address {
    /// The page behind `token` at `socket`.
    pub fn new(socket: SocketAddr, token: Token) -> Address {
        Address { socket, token }
    }

    /// The token.
    pub fn token(&self) -> &Token {
        &self.token
    }

    /// What a person gives a browser.
    pub fn url(&self) -> String {
        let ip = match self.socket.ip() {
            IpAddr::V4(ip) if ip.is_unspecified() => IpAddr::from([127, 0, 0, 1]),
            ip => ip,
        };
        let socket = SocketAddr::new(ip, self.socket.port());
        format!("http://{socket}/{}/", self.token.as_str())
    }

    /// Whether a `Host` header names this address: a name that some site made point here does not. Where
    /// all addresses of the machine are listened on, any of them will do.
    pub(crate) fn is_host(&self, host: &str) -> bool {
        let own = self.socket.ip();
        if let Some(port) = host.strip_prefix("localhost:") {
            return port == self.socket.port().to_string()
                && (own.is_loopback() || own.is_unspecified());
        }
        match host.parse::<SocketAddr>() {
            Ok(named) if own.is_unspecified() => named.port() == self.socket.port(),
            Ok(named) => named == self.socket,
            // Browsers leave the port of http out.
            Err(_) => self.socket.port() == 80 && host.parse::<IpAddr>().is_ok_and(|ip| ip == own),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(socket: &str) -> Address {
        Address::new(socket.parse().unwrap(), Token::new().unwrap())
    }

    #[test]
    fn tokens_are_long_and_their_own() {
        let (one, other) = (Token::new().unwrap(), Token::new().unwrap());
        assert_eq!(one.as_str().len(), 32);
        assert!(one.is(one.as_str()) && !one.is(other.as_str()) && !one.is(""));
        assert!(!one.is(&one.as_str()[..31]));
    }

    #[test]
    fn hosts_that_are_this_address() {
        let own = at("127.0.0.1:8080");
        for host in ["127.0.0.1:8080", "localhost:8080"] {
            assert!(own.is_host(host), "{host}");
        }
        for host in [
            "127.0.0.1:80",
            "127.0.0.2:8080",
            "localhost",
            "localhost:8080.example",
            "farm.example:8080",
            "127.0.0.1.example:8080",
            "",
        ] {
            assert!(!own.is_host(host), "{host}");
        }
        let any = at("0.0.0.0:8080");
        assert!(any.is_host("192.0.2.7:8080") && !any.is_host("farm.example:8080"));
        assert!(any.url().starts_with("http://127.0.0.1:8080/"));
        assert!(at("192.0.2.7:80").is_host("192.0.2.7"));
    }
}

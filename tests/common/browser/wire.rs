//! One command, one connection, one answer.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::Value;

/// A command that takes longer hangs.
const PATIENCE: Duration = Duration::from_secs(120);

/// Sends a command; gives its value, or what the driver says is the matter.
pub fn ask(port: u16, method: &str, path: &str, body: &Value) -> Result<Value, String> {
    let answer = sent(port, method, path, body).map_err(|error| error.to_string())?;
    let value = answer.get("value").cloned().unwrap_or_default();
    match value.get("error").and_then(Value::as_str) {
        Some(error) => Err(format!("{error}: {}", value["message"])),
        None => Ok(value),
    }
}

fn sent(port: u16, method: &str, path: &str, body: &Value) -> std::io::Result<Value> {
    let text = match method {
        "POST" => body.to_string(),
        _ => String::new(),
    };
    let mut stream = TcpStream::connect(("127.0.0.1", port))?;
    stream.set_read_timeout(Some(PATIENCE))?;
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
        text.len()
    );
    stream.write_all(format!("{head}{text}").as_bytes())?;
    let mut answer = BufReader::new(stream);
    let mut length = 0;
    loop {
        let mut line = String::new();
        if answer.read_line(&mut line)? == 0 {
            return Err(std::io::ErrorKind::UnexpectedEof.into());
        }
        if line.trim().is_empty() {
            break;
        }
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().unwrap();
        }
    }
    let mut bytes = vec![0; length];
    answer.read_exact(&mut bytes)?;
    Ok(serde_json::from_slice(&bytes)?)
}

/// The bytes of a text in base64 (RFC 4648).
pub fn base64(text: &str) -> Vec<u8> {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digits: Vec<u32> = text
        .bytes()
        .filter_map(|own| DIGITS.iter().position(|digit| *digit == own))
        .map(|place| u32::try_from(place).unwrap())
        .collect();
    let mut bytes = Vec::new();
    for four in digits.chunks(4) {
        let bits = four
            .iter()
            .chain(&[0; 3])
            .take(4)
            .fold(0, |so_far, digit| so_far << 6 | digit);
        bytes.extend(&bits.to_be_bytes()[1..four.len()]);
    }
    bytes
}

#[test]
fn base64_gives_the_bytes_of_the_standards_examples() {
    // RFC 4648, section 10.
    for (text, bytes) in [
        ("", ""),
        ("Zg==", "f"),
        ("Zm8=", "fo"),
        ("Zm9v", "foo"),
        ("Zm9vYg==", "foob"),
        ("Zm9vYmFy", "foobar"),
    ] {
        assert_eq!(base64(text), bytes.as_bytes());
    }
}

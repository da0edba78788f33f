//! As much reading of SVG as the drawings need: tags that close, attributes in quotes, and how far
//! each shape reaches.

/// Lowest and highest coordinates.
#[derive(Debug, Clone, Copy)]
pub struct Extent {
    pub low: (f64, f64),
    pub high: (f64, f64),
}

impl Extent {
    fn none() -> Extent {
        Extent {
            low: (f64::INFINITY, f64::INFINITY),
            high: (f64::NEG_INFINITY, f64::NEG_INFINITY),
        }
    }

    fn take(&mut self, (x, y): (f64, f64), around: f64) {
        self.low = (self.low.0.min(x - around), self.low.1.min(y - around));
        self.high = (self.high.0.max(x + around), self.high.1.max(y + around));
    }

    pub fn middle(&self) -> (f64, f64) {
        (
            (self.low.0 + self.high.0) / 2.0,
            (self.low.1 + self.high.1) / 2.0,
        )
    }

    pub fn differs_by(&self, other: &Extent) -> f64 {
        [
            self.low.0 - other.low.0,
            self.low.1 - other.low.1,
            self.high.0 - other.high.0,
            self.high.1 - other.high.1,
        ]
        .into_iter()
        .map(f64::abs)
        .fold(0.0, f64::max)
    }
}

/// A path, circle or text.
pub struct Part {
    pub class: String,
    pub words: String,
    pub dashed: bool,
    pub points: Vec<(f64, f64)>,
    pub extent: Extent,
}

pub struct Svg {
    pub title: String,
    pub description: String,
    pub width: f64,
    pub height: f64,
    pub parts: Vec<Part>,
}

impl Svg {
    pub fn of(&self, class: &str) -> impl Iterator<Item = &Part> {
        let class = class.to_owned();
        self.parts
            .iter()
            .filter(move |part| part.class.split(' ').any(|own| own == class))
    }

    /// Where words stand.
    pub fn words(&self, words: &str) -> Extent {
        let mut found = self.parts.iter().filter(|part| part.words == words);
        found.next().unwrap_or_else(|| panic!("no {words}")).extent
    }

    pub fn read(text: &str) -> Result<Svg, String> {
        let mut svg = Svg {
            title: String::new(),
            description: String::new(),
            width: 0.0,
            height: 0.0,
            parts: Vec::new(),
        };
        let mut open: Vec<String> = Vec::new();
        let mut rest = text;
        while let Some(at) = rest.find('<') {
            let words = &rest[..at];
            if words.contains('>') {
                return Err(format!("a lone > in {words:?}"));
            }
            for (place, _) in words.match_indices('&') {
                let entity = ["&amp;", "&lt;", "&gt;", "&quot;"];
                if !entity.iter().any(|own| words[place..].starts_with(own)) {
                    return Err(format!("a lone & in {words:?}"));
                }
            }
            match open.last().map(String::as_str) {
                Some("title") => svg.title = words.to_owned(),
                Some("desc") => svg.description = words.to_owned(),
                Some("text") => {
                    let part = svg.parts.last_mut().unwrap();
                    part.words = words.to_owned();
                    // Half the width of the words at a mean letter of half their size.
                    let size = part.extent.high.0;
                    let (x, y) = part.points[0];
                    let half = words.chars().count() as f64 * size * 0.25;
                    part.extent = Extent::none();
                    part.extent.take((x - half, y - 0.75 * size), 0.0);
                    part.extent.take((x + half, y + 0.22 * size), 0.0);
                }
                _ if words.trim().is_empty() => {}
                _ => return Err(format!("words outside: {words:?}")),
            }
            let end = rest[at..].find('>').ok_or("a tag without end")? + at;
            let tag = &rest[at + 1..end];
            rest = &rest[end + 1..];
            if let Some(name) = tag.strip_prefix('/') {
                if open.pop().as_deref() != Some(name) {
                    return Err(format!("</{name}> closes another"));
                }
                continue;
            }
            let alone = tag.ends_with('/');
            let tag = tag.trim_end_matches('/');
            let (name, attributes) = tag.split_once(' ').unwrap_or((tag, ""));
            let attributes = attributes_of(attributes)?;
            svg.take(name, &attributes)?;
            if !alone {
                open.push(name.to_owned());
            }
        }
        if !open.is_empty() || !rest.trim().is_empty() {
            return Err(format!("left open: {open:?}, after the end: {rest:?}"));
        }
        Ok(svg)
    }

    fn take(&mut self, name: &str, attributes: &[(String, String)]) -> Result<(), String> {
        let get = |wanted: &str| {
            let found = attributes.iter().find(|(name, _)| name == wanted);
            found.map(|(_, value)| value.as_str())
        };
        let number = |wanted: &str| -> Result<f64, String> {
            let text = get(wanted).ok_or(format!("<{name}> without {wanted}"))?;
            text.parse().map_err(|_| format!("{wanted}={text}"))
        };
        let mut part = Part {
            class: get("class").unwrap_or_default().to_owned(),
            words: String::new(),
            dashed: get("stroke-dasharray").is_some(),
            points: Vec::new(),
            extent: Extent::none(),
        };
        match name {
            "svg" => {
                let frame: Vec<f64> = get("viewBox")
                    .ok_or("no viewBox")?
                    .split(' ')
                    .map(|own| own.parse().unwrap())
                    .collect();
                (self.width, self.height) = (frame[2], frame[3]);
                return Ok(());
            }
            "g" | "title" | "desc" => return Ok(()),
            "path" => {
                let path = get("d").ok_or("a path without d")?;
                path_of(path, number("stroke-width")? / 2.0, &mut part)?;
                // The stroke of closed outlines is drawn under the fill at twice its width.
            }
            "circle" => {
                let middle = (number("cx")?, number("cy")?);
                part.points.push(middle);
                part.extent.take(middle, number("r")?);
            }
            "text" => {
                part.points.push((number("x")?, number("y")?));
                // The size, until the words are read.
                part.extent.high.0 = number("font-size")?;
            }
            _ => return Err(format!("an unknown <{name}>")),
        }
        self.parts.push(part);
        Ok(())
    }
}

fn attributes_of(text: &str) -> Result<Vec<(String, String)>, String> {
    let mut found: Vec<(String, String)> = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (name, after) = rest.split_once("=\"").ok_or(format!("no value: {rest}"))?;
        let (value, after) = after.split_once('"').ok_or(format!("no end: {after}"))?;
        if name.contains(' ') || value.contains('<') || found.iter().any(|own| own.0 == name) {
            return Err(format!("attribute {name:?}"));
        }
        found.push((name.to_owned(), value.to_owned()));
        rest = after.trim_start();
    }
    Ok(found)
}

/// Reads M, L, A and Z; arcs are followed point by point.
fn path_of(path: &str, around: f64, part: &mut Part) -> Result<(), String> {
    let mut rest = path;
    let mut here = (0.0, 0.0);
    while let Some(command) = rest.chars().next() {
        let after = &rest[1..];
        let end = after
            .find(|own: char| own.is_ascii_alphabetic())
            .unwrap_or(after.len());
        let numbers = after[..end]
            .split_whitespace()
            .map(|own| own.parse::<f64>().map_err(|_| format!("{own} in a path")))
            .collect::<Result<Vec<f64>, String>>()?;
        if !numbers.iter().all(|own| own.is_finite()) {
            return Err(format!("no number in {path}"));
        }
        match (command, numbers.as_slice()) {
            ('M' | 'L', &[x, y]) => {
                here = (x, y);
                part.points.push(here);
                part.extent.take(here, around);
            }
            ('A', &[radius, _, _, long, _, x, y]) => {
                for point in arc(here, (x, y), radius, long > 0.5) {
                    part.extent.take(point, around);
                }
                here = (x, y);
                part.points.push(here);
            }
            ('Z', []) => {}
            _ => return Err(format!("{command} {numbers:?}")),
        }
        rest = &after[end..];
    }
    Ok(())
}

/// Points of an arc in the direction of growing angle.
///
/// Source: SVG 1.1 (W3C, 2011), appendix F.6, for circles.
fn arc(from: (f64, f64), to: (f64, f64), radius: f64, long: bool) -> Vec<(f64, f64)> {
    let (x, y) = ((to.0 - from.0) / 2.0, (to.1 - from.1) / 2.0);
    let half = x.hypot(y);
    let radius = radius.max(half);
    if half == 0.0 {
        return vec![from];
    }
    let height = (radius * radius - half * half).max(0.0).sqrt() / half;
    let sign = if long { 1.0 } else { -1.0 };
    let centre = (
        from.0 + x + sign * height * y,
        from.1 + y - sign * height * x,
    );
    let start = (from.1 - centre.1).atan2(from.0 - centre.0);
    let mut sweep = (to.1 - centre.1).atan2(to.0 - centre.0) - start;
    if sweep < 0.0 {
        sweep += std::f64::consts::TAU;
    }
    (0..=24)
        .map(|step| {
            let (sin, cos) = (start + sweep * f64::from(step) / 24.0).sin_cos();
            (centre.0 + radius * cos, centre.1 + radius * sin)
        })
        .collect()
}

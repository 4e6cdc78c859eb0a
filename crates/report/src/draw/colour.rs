//! Colours, and the mixing of them in a space where equal steps look equal.
//!
//! OKLab: B. Ottosson, *A perceptual color space for image processing*, 2020; its two matrices stand below as
//! published.

/// An opaque sRGB colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

/// Lightness 0…1, chroma, hue in degrees: the polar form of OKLab.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lch {
    /// Lightness, 0 black to 1 white.
    pub l: f64,
    /// Chroma, 0 grey.
    pub c: f64,
    /// Hue, degrees.
    pub h: f64,
}

impl Colour {
    /// As SVG writes it, `#rrggbb`.
    pub fn hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }

    /// OKLab coordinates.
    pub fn lab(self) -> [f64; 3] {
        let [r, g, b] = [self.0, self.1, self.2].map(to_linear);
        let l = (0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b).cbrt();
        let m = (0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b).cbrt();
        let s = (0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b).cbrt();
        [
            0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
            1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
            0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s,
        ]
    }

    /// From OKLab coordinates; what sRGB can't show is clipped.
    pub fn from_lab([l, a, b]: [f64; 3]) -> Colour {
        let cube = |x: f64| x * x * x;
        let p = cube(l + 0.3963377774 * a + 0.2158037573 * b);
        let q = cube(l - 0.1055613458 * a - 0.0638541728 * b);
        let r = cube(l - 0.0894841775 * a - 1.2914855480 * b);
        Colour(
            from_linear(4.0767416621 * p - 3.3077115913 * q + 0.2309699292 * r),
            from_linear(-1.2684380046 * p + 2.6097574011 * q - 0.3413193965 * r),
            from_linear(-0.0041960863 * p - 0.7034186147 * q + 1.7076147010 * r),
        )
    }

    /// Relative luminance 0…1 (IEC 61966-2-1 weights): what is left in grey print.
    pub fn luminance(self) -> f64 {
        0.2126 * to_linear(self.0) + 0.7152 * to_linear(self.1) + 0.0722 * to_linear(self.2)
    }

    /// Contrast ratio with another colour, 1…21 (WCAG 2).
    pub fn contrast(self, other: Colour) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// A mix, 0 this to 1 the other.
    pub fn mix(self, other: Colour, share: f64) -> Colour {
        let (a, b) = (self.lab(), other.lab());
        Colour::from_lab([0, 1, 2].map(|i| a[i] + share * (b[i] - a[i])))
    }
}

impl From<Lch> for Colour {
    fn from(p: Lch) -> Colour {
        let (sin, cos) = p.h.to_radians().sin_cos();
        Colour::from_lab([p.l, p.c * cos, p.c * sin])
    }
}

/// The colour at `share` 0…1 of a ramp through `stops`, which are spread evenly.
pub fn ramp(stops: &[Lch], share: f64) -> Colour {
    let last = stops.len() - 1;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let i = (at.floor() as usize).min(last.saturating_sub(1));
    let (from, to) = (Colour::from(stops[i]).lab(), Colour::from(stops[(i + 1).min(last)]).lab());
    let w = at - i as f64;
    Colour::from_lab([0, 1, 2].map(|k| from[k] + w * (to[k] - from[k])))
}

fn to_linear(byte: u8) -> f64 {
    let x = f64::from(byte) / 255.0;
    if x <= 0.04045 { x / 12.92 } else { ((x + 0.055) / 1.055).powf(2.4) }
}

fn from_linear(x: f64) -> u8 {
    let x = x.clamp(0.0, 1.0);
    let x = if x <= 0.0031308 { 12.92 * x } else { 1.055 * x.powf(1.0 / 2.4) - 0.055 };
    (x * 255.0).round() as u8
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// How a colour looks without one kind of cone: Machado, Oliveira and Fernandes, IEEE TVCG 15(6), 2009, severity
    /// 1.0.
    pub(crate) fn dichromat(c: Colour, m: [[f64; 3]; 3]) -> Colour {
        let rgb = [to_linear(c.0), to_linear(c.1), to_linear(c.2)];
        let [r, g, b] = m.map(|row| from_linear(row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]));
        Colour(r, g, b)
    }

    /// Without red-sensitive cones.
    pub(crate) const PROTAN: [[f64; 3]; 3] =
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]];
    /// Without green-sensitive cones.
    pub(crate) const DEUTAN: [[f64; 3]; 3] =
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]];

    /// Distance in OKLab; 0.02 is just noticeable.
    pub(crate) fn distance(a: Colour, b: Colour) -> f64 {
        let (a, b) = (a.lab(), b.lab());
        (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
    }

    #[test]
    fn closed_form_black_white_and_contrast() {
        let (black, white) = (Colour(0, 0, 0), Colour(255, 255, 255));
        assert!((white.lab()[0] - 1.0).abs() < 1e-6 && black.lab()[0].abs() < 1e-6);
        assert!((black.contrast(white) - 21.0).abs() < 1e-9);
        assert_eq!(Colour(1, 35, 69).hex(), "#012345");
    }

    #[test]
    fn property_lab_round_trips() {
        for c in [Colour(0, 0, 0), Colour(255, 255, 255), Colour(200, 30, 90), Colour(12, 130, 240)] {
            assert_eq!(Colour::from_lab(c.lab()), c);
            assert_eq!(c.mix(Colour(9, 9, 9), 0.0), c);
        }
    }

    #[test]
    fn property_a_ramp_starts_and_ends_at_its_stops() {
        let stops =
            [Lch { l: 0.3, c: 0.05, h: 250.0 }, Lch { l: 0.6, c: 0.1, h: 20.0 }, Lch { l: 0.9, c: 0.1, h: 90.0 }];
        for (share, stop) in [(-1.0, 0), (0.0, 0), (0.5, 1), (1.0, 2), (2.0, 2)] {
            assert_eq!(ramp(&stops, share), Colour::from(stops[stop]));
        }
        assert_eq!(ramp(&stops[..1], 0.7), Colour::from(stops[0]));
    }
}

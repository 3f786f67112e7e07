// SPDX-License-Identifier: GPL-3.0-or-later
// A raw photograph for the flows: an uncompressed DNG by the published TIFF 6.0 and DNG 1.4 tags, its mosaic from a function.

const sizes = { 1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 10: 8 };

function directory(at, entries) {
    const sorted = entries.sort((a, b) => a.tag - b.tag);
    const table = Buffer.alloc(2 + 12 * sorted.length + 4);
    const pieces = [table];
    let beyond = at + table.length;
    table.writeUInt16LE(sorted.length, 0);
    sorted.forEach(({ tag, type, values }, i) => {
        const count = type === 5 || type === 10 ? values.length / 2 : values.length;
        const bytes = Buffer.alloc(Math.max(4, count * sizes[type]));
        values.forEach((value, k) => {
            if (type === 1 || type === 2)
                bytes[k] = value;
            else if (type === 3)
                bytes.writeUInt16LE(value, 2 * k);
            else
                bytes.writeInt32LE(value, 4 * k);
        });
        const entry = 2 + 12 * i;
        table.writeUInt16LE(tag, entry);
        table.writeUInt16LE(type, entry + 2);
        table.writeUInt32LE(count, entry + 4);
        if (count * sizes[type] <= 4)
            bytes.copy(table, entry + 8, 0, 4);
        else {
            table.writeUInt32LE(beyond, entry + 8);
            pieces.push(bytes);
            beyond += bytes.length;
        }
    });
    return Buffer.concat(pieces);
}

const letters = (text) => [...Buffer.from(`${text}\0`)];
const rational = (value) => [Math.round(value * 1e6), 1e6];

// counts(x, y, colour) above black; colour 0 red, 1 green, 2 blue.
export function dng({ width, height, exposure, fNumber, iso, black = 512, white = 15000 }, counts) {
    const pixels = Buffer.alloc(2 * width * height);
    for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) {
            const value = black + counts(x, y, (x & 1) + (y & 1));
            pixels.writeUInt16LE(Math.max(0, Math.min(white, Math.round(value))), 2 * (y * width + x));
        }
    const exif = directory(8 + pixels.length, [{ tag: 33434, type: 5, values: [1000, Math.round(1000 / exposure)] },
        { tag: 33437, type: 5, values: rational(fNumber) }, { tag: 34855, type: 3, values: [iso] }]);
    const exifAt = 8 + pixels.length, mainAt = exifAt + exif.length + (exif.length & 1);
    const main = directory(mainAt, [
        { tag: 254, type: 4, values: [0] }, { tag: 256, type: 4, values: [width] }, { tag: 257, type: 4, values: [height] },
        { tag: 258, type: 3, values: [16] }, { tag: 259, type: 3, values: [1] }, { tag: 262, type: 3, values: [32803] },
        { tag: 271, type: 2, values: letters('Test') }, { tag: 272, type: 2, values: letters('Digital One') },
        { tag: 273, type: 4, values: [8] }, { tag: 277, type: 3, values: [1] }, { tag: 278, type: 4, values: [height] },
        { tag: 279, type: 4, values: [pixels.length] }, { tag: 284, type: 3, values: [1] },
        { tag: 33421, type: 3, values: [2, 2] }, { tag: 33422, type: 1, values: [0, 1, 1, 2] },
        { tag: 34665, type: 4, values: [exifAt] }, { tag: 50706, type: 1, values: [1, 4, 0, 0] },
        { tag: 50707, type: 1, values: [1, 4, 0, 0] }, { tag: 50708, type: 2, values: letters('Digital One') },
        { tag: 50714, type: 3, values: [black] }, { tag: 50717, type: 4, values: [white] },
        { tag: 50721, type: 10, values: [1, 1, 0, 1, 0, 1, 0, 1, 1, 1, 0, 1, 0, 1, 0, 1, 1, 1] },
        { tag: 50728, type: 5, values: [1, 1, 1, 1, 1, 1] }, { tag: 50778, type: 3, values: [21] },
    ]);
    const head = Buffer.from('II*\0\0\0\0\0');
    head.writeUInt32LE(mainAt, 4);
    return Buffer.concat([head, pixels, exif, Buffer.alloc(exif.length & 1), main]);
}

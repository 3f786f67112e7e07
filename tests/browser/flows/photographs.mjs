// SPDX-License-Identifier: GPL-3.0-or-later
// Two photographs and more: a reference and tests given to the page, compared, set up, kept. The scene comes from the
// exposure equation (counts proportional to light, time, ISO and 1/N^2, ISO 2720). Run by tests/browser/run.
import assert from 'node:assert/strict';
import { readdirSync, writeFileSync } from 'node:fs';
import { laptop, nested, open, phone, picture, press, runFlows, sound } from '../bench.mjs';
import { dng } from '../raw.mjs';

const work = process.env.CW_WORK;
const flows = [];
const flow = (name, run) => flows.push({ name, run });
const width = 480, height = 320;

// A gate in the middle three quarters, lit for `seconds`, more to the right by `growth`; photon noise.
function photograph(name, seconds, growth, exposure) {
    let state = 12345 + name.length;
    const chance = () => {
        state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
        return state / 2 ** 32;
    };
    const gauss = () => Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
    const path = `${work}/${name}`;
    writeFileSync(path, dng({ width, height, exposure, fNumber: 8, iso: 100 }, (x, y, colour) => {
        const inside = x >= width / 8 && x < width * 7 / 8 && y >= height / 8 && y < height * 7 / 8;
        const light = 2e5 * (inside ? 1 : 0.001) * seconds * (1 + growth * (x / width - 0.5) / 0.75) * [0.6, 1, 0.7][colour];
        return light + Math.sqrt(light + 9) * gauss();
    }));
    return path;
}

const reference = photograph('reference.dng', 1 / 30, 0, 1 / 30);
const even = photograph('at-125.dng', 1 / 125, 0, 4);
const uneven = photograph('at-500.dng', 1 / 420, 0.3, 4);

async function give(page, tests) {
    await page.goto('/measure');
    await page.getByLabel('Reference', { exact: true }).setInputFiles(reference);
    await page.getByLabel('Test, one or several').setInputFiles(tests);
    await press(page, page.getByRole('button', { name: 'Compare them' }));
}

flow('a reference and two tests become a test with its maps', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await give(page, [even, uneven]);
    await page.getByRole('heading', { name: 'Two photographs', exact: true }).waitFor();
    await sound(page, 'photographs before their speeds are said');
    await page.getByLabel('Marked speed of at-125.dng').fill('1/125');
    await page.getByLabel('Marked speed of at-500.dng').fill('1/500');
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await page.getByRole('heading', { name: /At 1\/125: 1\/1\d\d s in the middle/ }).waitFor();
    await page.getByRole('heading', { name: /At 1\/500: 1\/4\d\d s in the middle/ }).waitFor();
    assert.equal(await page.locator('figure.map svg').count(), 2);
    await sound(page, 'photographs worked out');
    await picture(page, 'photographs-phone');
    const twin = await (await page.request.get(page.url().replace(/(\/photographs\/\d+)/, '$1.json'))).json();
    assert.equal(twin.format, 'camerawright.shutter/1');
    assert.ok(Math.abs(twin.photographs[0].middle_s * 125 - 1) < 0.01, `1/125 came out as ${twin.photographs[0].middle_s}`);
    assert.ok(Math.abs(twin.photographs[1].middle_s * 420 - 1) < 0.01);
    const places = twin.shots[1].sensors.map((sensor) => sensor.exposure_s * 420);
    for (const [i, value] of places.entries())
        assert.ok(Math.abs(value - (1 + 0.3 * ((i + 0.5) / 5 - 0.5))) < 0.015, `place ${i + 1}: ${value}`);
    await page.getByLabel('Or a new camera').fill('Ellory Reflex');
    await press(page, page.getByRole('button', { name: 'Keep it as a test' }));
    await page.getByRole('heading', { name: 'Shutter test, before' }).waitFor();
    assert.equal(await page.locator('figure.map svg').count(), 2);
    await sound(page, 'a test by photographs');
    await press(page, page.getByRole('link', { name: 'Try another plan on what was recorded' }));
    assert.equal(await page.getByLabel('Marked speed of at-500.dng').inputValue(), '1/500');
    await page.getByLabel('left', { exact: true }).check();
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await press(page, page.getByRole('button', { name: 'Keep the changed test' }));
    await page.getByText('the curtains run to the left').first().waitFor();
    // the report has the maps too, as a page and on paper
    await page.goto('/jobs/1/report');
    assert.equal(await page.locator('figure.map svg').count(), 2);
    await page.getByText(/Evenness at 1\/500: from \u2212[\d.]+ to \+[\d.]+ EV against the middle/).waitFor();
    await sound(page, 'the report of a test by photographs');
    await picture(page, 'photographs-report');
    assert.equal((await page.request.get('/jobs/1/report.pdf')).status(), 200);
    page.quiet();
});

flow('no photograph stays behind in the bench', async () => {
    assert.deepEqual(readdirSync(`${work}/bench/incoming`), []);
    const kept = readdirSync(`${work}/bench/recordings`, { recursive: true }).filter((name) => name.endsWith('.dng'));
    assert.deepEqual(kept, []);
});

flow('on the laptop, in the dark, without scripts', async ({ browser, address }) => {
    const page = await open(browser, address, { ...laptop, colorScheme: 'dark' });
    await give(page, [uneven]);
    await page.getByLabel('Marked speed of at-500.dng').fill('1/500');
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await sound(page, 'photographs in the dark');
    await picture(page, 'photographs-dark');
    nested(await (await page.request.get(page.url())).text(), 'the photographs');
    const plain = await open(browser, address, { ...laptop, javaScriptEnabled: false });
    await plain.goto(page.url().replace(address, ''));
    await picture(plain, 'photographs-laptop');
    assert.equal(await plain.locator('figure.map svg').count(), 1);
    page.quiet();
});

flow('what cannot be compared says why, and by which file', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    const text = `${work}/notes.txt`;
    writeFileSync(text, 'no photograph\n');
    await give(page, [text]);
    await page.getByRole('alert').getByText(/otes\.txt: .*neither a JPEG nor a raw photograph/).waitFor();
    await give(page, [reference]);
    await page.getByLabel('Marked speed of reference.dng').fill('1/30');
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await page.getByText(/the digital shutter must stay open/).waitFor();
    await page.getByText('Gate, reference, tolerance').click();
    await page.getByLabel('Film gate in the picture').fill('0.9,0.1,0.2,0.8');
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await page.getByRole('alert').getByText(/film gate from 0.9 to 0.2/).waitFor();
    page.quiet();
});

await runFlows(flows);

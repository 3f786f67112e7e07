// SPDX-License-Identifier: GPL-3.0-or-later
// Slow speeds by ear: a sound given to the page, its clicks corrected with and without scripts, kept as a test. Run by
// tests/browser/run.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { laptop, nested, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const work = process.env.CW_WORK;
const flows = [];
const flow = (name, run) => flows.push({ name, run });
const heard = `${work}/slow-speeds.wav`;
const sim = process.env.CW_PROGRAM.replace(/camerawright$/, 'sim/camerawright-sim');
execFileSync(sim, ['sound', heard, '--exposures', '1.07,0.52,0.24,0.13,0.0704,0.0323']);
const truth = JSON.parse(readFileSync(heard.replace('.wav', '.truth.json'))).shots;

async function give(page, marks) {
    await page.goto('/measure');
    await page.getByLabel('Sound', { exact: true }).setInputFiles(heard);
    await press(page, page.getByRole('button', { name: 'Listen to it' }));
    if (!marks)
        return;
    await page.getByLabel('Marked speeds, in the order fired').fill(marks);
    await press(page, page.getByRole('button', { name: 'Listen for these speeds' }));
}

flow('a sound is proposed, looked at from near, corrected and kept', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await give(page, '');
    await page.getByText(/clicks heard/).waitFor();
    await sound(page, 'a sound before its speeds are said');
    await page.getByLabel('Marked speeds, in the order fired').fill('1,1/2,1/4,1/8,1/15,1/30');
    await press(page, page.getByRole('button', { name: 'Listen for these speeds' }));
    for (const [index, shot] of truth.entries()) {
        const opened = Number(await page.getByLabel(`Opening of shot ${index + 1}`).inputValue());
        const closed = Number(await page.getByLabel(`Closing of shot ${index + 1}`).inputValue());
        assert.ok(Math.abs(opened - shot.open_s) < 5e-4 && Math.abs(closed - shot.close_s) < 5e-4, `shot ${index + 1}`);
    }
    await sound(page, 'proposed shots');
    await picture(page, 'by-ear-phone');
    await press(page, page.getByRole('button', { name: 'Look at shot 2 from near' }));
    await sound(page, 'clicks from near');
    await picture(page, 'by-ear-near-phone');
    // a step of 1 ms, and the same address again does not step twice
    const before = Number(await page.getByLabel('Closing of shot 2').inputValue());
    await press(page, page.getByRole('button', { name: 'closing +1 ms' }));
    const moved = Number(await page.getByLabel('Closing of shot 2').inputValue());
    assert.ok(Math.abs(moved - before - 1e-3) < 1e-6);
    await Promise.all([page.waitForEvent('load'), page.reload()]);
    assert.equal(Number(await page.getByLabel('Closing of shot 2').inputValue()), moved);
    await press(page, page.getByRole('button', { name: 'Next shot' }));
    await page.getByRole('heading', { name: /Shot 3 from near/ }).waitFor();
    assert.equal(Number(await page.getByLabel('Closing of shot 2').inputValue()), moved);
    await page.getByLabel('Leave out shot 4').check();
    await press(page, page.getByRole('button', { name: 'Work it out with these' }));
    await page.getByRole('row', { name: /^4 / }).getByText(/left out|±/).waitFor();
    // the twin of the same address says the same
    const twin = await (await page.request.get(page.url().replace(/(\/sounds\/\d+)/, '$1.json'))).json();
    assert.equal(twin.format, 'camerawright.shutter/1');
    assert.ok(Math.abs(twin.shots[1].sensors[0].close_s - moved) < 1e-6);
    assert.equal(twin.shots[3].struck, true);
    await page.getByLabel('Or a new camera').fill('Tarnbrook 35');
    await press(page, page.getByRole('button', { name: 'Keep it as a test' }));
    await page.getByRole('heading', { name: 'Shutter test, before' }).waitFor();
    await sound(page, 'a test by ear');
    await press(page, page.getByRole('link', { name: 'Try another plan on what was recorded' }));
    assert.ok(Math.abs(Number(await page.getByLabel('Closing of shot 2').inputValue()) - moved) < 1e-4);
    assert.equal(await page.getByLabel('Leave out shot 4').isChecked(), true);
    await press(page, page.getByRole('button', { name: 'Keep the changed test' }));
    await page.getByRole('heading', { name: 'Shutter test, before' }).waitFor();
    page.quiet();
});

flow('pressing the picture moves the click, without scripts too', async ({ browser, address }) => {
    for (const javaScriptEnabled of [true, false]) {
        const page = await open(browser, address, { ...laptop, javaScriptEnabled });
        await give(page, '1,1/2');
        await press(page, page.getByRole('button', { name: 'Look at shot 1 from near' }));
        const before = Number(await page.getByLabel('Opening of shot 1').inputValue());
        const picture = page.getByRole('button', { name: /the opening from near/ });
        // the picture is 330 px wide with the trace between 26 and 264 px, 40 ms long: 60 px right of its middle are 10.1 ms
        await press(page, { click: () => picture.click({ position: { x: 26 + 119 + 60, y: 90 } }) });
        const moved = Number(await page.getByLabel('Opening of shot 1').inputValue()) - before;
        assert.ok(Math.abs(moved - 60 / 238 * 0.04) < 3e-4, `moved by ${moved} s`);
        if (javaScriptEnabled)
            await sound(page, 'a moved click');
    }
});

flow('a shot is added and its clicks are set by pressing', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await give(page, '1');
    await press(page, page.getByRole('button', { name: 'Add a shot' }));
    await page.getByRole('heading', { name: /Shot 2 from near/ }).waitFor();
    await page.getByText('not both clicks are set', { exact: false }).first().waitFor();
    await page.getByLabel('Marked speed of shot 2').fill('1/2');
    await page.getByLabel('Opening of shot 2').fill(String(truth[1].open_s));
    await page.getByLabel('Closing of shot 2').fill(String(truth[1].close_s).replace('.', ','));
    await press(page, page.getByRole('button', { name: 'Work it out with these' }));
    await page.getByRole('cell', { name: /1\/2/ }).first().waitFor();
    await sound(page, 'an added shot');
    await picture(page, 'by-ear-laptop');
    page.quiet();
});

flow('speeds too fast for the ear are refused by name, the others stay', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await give(page, '1,1/2,1/4,1/250');
    await page.getByText(/1\/250 s is too fast for the ear/).first().waitFor();
    assert.equal(await page.getByLabel('Opening of shot 3').count(), 1);
    await page.getByText('Other speeds, tolerance').click();
    await page.getByLabel('Marked speeds, in the order fired').fill('1/500');
    await press(page, page.getByRole('button', { name: 'Listen for these speeds' }));
    await page.getByRole('alert').getByText(/1\/500 s is too fast/).waitFor();
    await page.goto('/measure');
    writeFileSync(`${work}/phone.m4a`, Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypM4A '), Buffer.alloc(60)]));
    await page.getByLabel('Sound', { exact: true }).setInputFiles(`${work}/phone.m4a`);
    await press(page, page.getByRole('button', { name: 'Listen to it' }));
    await page.getByRole('alert').getByText(/MP4 sound/).waitFor();
    page.quiet();
});

flow('its markup closes what it opens', async ({ browser, address }) => {
    const page = await open(browser, address, { ...laptop, colorScheme: 'dark' });
    await give(page, '1,1/2,1/4');
    await press(page, page.getByRole('button', { name: 'Look at shot 1 from near' }));
    nested(await (await page.request.get(page.url())).text(), 'the sound');
    await sound(page, 'the sound in the dark');
    await picture(page, 'by-ear-dark');
});

await runFlows(flows);

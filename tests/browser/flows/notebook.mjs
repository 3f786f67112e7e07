// SPDX-License-Identifier: GPL-3.0-or-later
// The notebook in more depth than the whole way needs: corrections of tests, bad input to every form.
import assert from 'node:assert/strict';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const work = process.env.CW_WORK;
const flows = [];
const flow = (name, run) => flows.push({ name, run });
const json = async (page, path) => (await page.request.get(path)).json();

flow('a typed reading is corrected, one left out with a reason, and what was kept at first stays', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/jobs/new');
    await page.getByLabel('Camera').fill('Tarnbrook 35');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await page.goto('/measure?job=1&mark.8=1/250&read.8=4.33 ms 4.92 ms 4.41 ms&shutter=leaf');
    await press(page, page.getByRole('button', { name: 'Keep as a test' }));
    await press(page, page.getByRole('link', { name: 'Correct readings, shots or plan' }));
    await sound(page, 'correcting a test');
    await picture(page, 'test-edit-phone');
    // a wrong unit is refused, and everything typed is still there
    await page.getByLabel('What the timer showed, shot 2').fill('4.42');
    await page.getByLabel('Why it is corrected').fill('a digit slipped');
    await page.getByLabel('Leave out shot 3').check();
    await page.getByLabel('Why it is left out, shot 3').fill('the <b>panel</b> moved');
    await press(page, page.getByRole('button', { name: 'Work it out again and keep it' }));
    await page.getByRole('alert').getByText('is it in milliseconds?').waitFor();
    assert.equal(await page.getByLabel('Leave out shot 3').isChecked(), true);
    await page.getByLabel('What the timer showed, shot 2').fill('4.42 ms');
    await press(page, page.getByRole('button', { name: 'Work it out again and keep it' }));
    await page.getByRole('heading', { name: 'Earlier versions' }).waitFor();
    await page.getByText('Every shot').click();
    await page.getByText('left out: the <b>panel</b> moved').waitFor();
    const now = await json(page, '/tests/1.json');
    assert.equal(now.result.shots.length, 3);
    assert.deepEqual(now.strikes, { 3: 'the <b>panel</b> moved' });
    // mean of 4.33 and 4.42 ms
    assert.ok(Math.abs(now.result.speeds[0].exposure_s - 0.004375) < 1e-9);
    const plan = await json(page, '/tests/1/edit.json');
    assert.deepEqual(plan.readings.map((reading) => reading.as_typed), ['4.33 ms', '4.42 ms', '4.41 ms']);
    assert.equal(plan.versions[0].reason, 'a digit slipped');
    await sound(page, 'a corrected test');
    await press(page, page.getByRole('link', { name: /As kept at first/ }));
    await page.getByText('This is an earlier version').waitFor();
    await sound(page, 'an earlier version');
    const first = await json(page, `/tests/1.json?version=${plan.versions[0].id}`);
    assert.ok(Math.abs(first.result.speeds[0].exposure_s - (0.00433 + 0.00492 + 0.00441) / 3) < 1e-9);
    // undone as one, and done again
    await page.goto('/jobs/1/history');
    await press(page, page.getByRole('button', { name: /^Undo: shutter test before corrected: a digit slipped/ }));
    assert.equal((await json(page, '/tests/1/edit.json')).versions.length, 0);
    await press(page, page.getByRole('button', { name: /^Do again/ }));
    assert.equal((await json(page, '/tests/1/edit.json')).versions.length, 1);
    page.quiet();
});

flow('a reading is taken away, one is added, and the shots keep their own reasons', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/tests/1/edit');
    await page.getByLabel('What the timer showed, shot 1').fill('');
    await page.getByLabel('Marked speed, shot 4').fill('1/60');
    await page.getByLabel('What the timer showed, shot 4').fill('1/57');
    await page.getByLabel('Tolerance', { exact: true }).fill('');
    await page.getByLabel('Or a table of your own').fill('camerawright.tolerance/1\nname: strict\nsource: own\n1/30 0.1\nfaster 0.1');
    await page.getByLabel('Why it is corrected').fill('the first shot was another speed');
    await press(page, page.getByRole('button', { name: 'Work it out again and keep it' }));
    const now = await json(page, '/tests/1.json');
    assert.deepEqual(now.strikes, { 2: 'the <b>panel</b> moved' });
    assert.deepEqual(now.result.shots.map((shot) => shot.struck), [false, true, false]);
    assert.deepEqual(now.result.speeds.map((speed) => speed.limit_ev), [0.1, 0.1]);
    // a table of one's own comes back into the form and is kept by the next correction
    await page.goto('/tests/1/edit');
    assert.match(await page.getByLabel('Or a table of your own').inputValue(), /"strict"/);
    await page.getByLabel('A line about it').fill('as it came');
    await page.getByLabel('Why it is corrected').fill('a title');
    await press(page, page.getByRole('button', { name: 'Work it out again and keep it' }));
    assert.equal((await json(page, '/tests/1.json')).plan.tolerance.name, 'strict');
    // somebody else was quicker
    await page.goto('/tests/1/edit');
    const other = await open(browser, address, laptop);
    await other.goto('/tests/1/edit');
    for (const one of [page, other]) {
        one.expected = ['409'];
        await one.getByLabel('Why it is corrected').fill('both at once');
        await press(one, one.getByRole('button', { name: 'Work it out again and keep it' }));
    }
    await other.getByRole('alert').getByText('changed by somebody else').waitFor();
    page.quiet();
});

flow('a test of a recording gets other marks and loses a shot', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/measure?job=1&when=before');
    await page.getByLabel('Recording').setInputFiles(`${work}/ellory-reflex-before.wav`);
    await press(page, page.getByRole('button', { name: 'Look at it' }));
    await page.getByLabel('Marked speeds, in the order fired').fill('1,1/4,1/15,1/60,1/125,1/250,1/500,1/1000');
    await page.getByLabel('Shots at each speed').fill('3');
    await page.getByText('Light, contact, tolerance').click();
    await page.getByLabel('Channel of the flash contact').fill('4');
    await press(page, page.getByRole('button', { name: 'Work it out with this plan' }));
    await page.getByLabel('Leave out shot 5').check();
    await page.getByLabel('Why shot 5 is left out').fill('a cloud');
    await press(page, page.getByRole('button', { name: 'Work it out with this plan' }));
    await press(page, page.getByRole('button', { name: 'Keep it as a test' }));
    const id = /tests\/(\d+)/.exec(page.url())[1];
    assert.deepEqual((await json(page, `/tests/${id}.json`)).strikes, { 5: 'a cloud' });
    await page.goto(`/tests/${id}/edit`);
    await sound(page, 'correcting a test of a recording');
    await picture(page, 'test-edit-laptop');
    await page.getByLabel('Sensor positions along the travel').fill('4,18,32');
    await page.getByLabel('Leave out shot 6').check();
    await page.getByLabel('Why it is corrected').fill('the places of the sensors');
    await press(page, page.getByRole('button', { name: 'Work it out again and keep it' }));
    const now = await json(page, `/tests/${id}.json`);
    assert.deepEqual(now.strikes, { 5: 'a cloud', 6: 'the places of the sensors' });
    assert.deepEqual(now.result.shots[0].sensors.map((sensor) => Math.round(sensor.position_mm * 1e6) / 1e6), [4, 18, 32]);
    assert.equal(now.result.shots[5].remark, 'the places of the sensors');
    page.quiet();
});

await runFlows(flows);

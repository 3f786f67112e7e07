// SPDX-License-Identifier: GPL-3.0-or-later
// Two designs of one worksheet side by side: changed by hand, from a kept result, refused, without scripts, on paper.
import assert from 'node:assert/strict';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const flows = [];
const flow = (name, run) => flows.push({ name, run });

const narrow = { ...phone, viewport: { width: 390, height: 844 } };
const wrench = 'span=23.4mm&slot-width=1.2mm&slot-depth=0.8mm&reach=4mm&plate=2mm';
const other = (key) => `#in-_b\\.${key}`;

async function row(page, label) {
    return (await page.getByRole('row').filter({ has: page.getByRole('rowheader', { name: label, exact: true }) }).first()
        .getByRole('cell').allInnerTexts());
}

flow('another design beside the first, on the phone', async ({ browser, address }) => {
    const page = await open(browser, address, narrow);
    page.expected = ['422'];
    await page.goto(`/worksheets/flat-wrench?${wrench}`);
    await press(page, page.getByRole('link', { name: 'Compare with another design' }));
    assert.equal(await page.locator(other('plate')).inputValue(), '2mm', 'it does not begin as the first');
    await sound(page, 'a comparison not yet asked');
    await page.locator(other('plate')).fill('3 mm');
    await page.locator(other('steel')).selectOption('mild-steel');
    await press(page, page.getByRole('button', { name: 'Compare' }));
    assert.deepEqual(await row(page, 'Plate thickness'), ['2 mm', '≠ 3 mm']);
    assert.match((await row(page, 'Wind-up'))[1], /▲ stiffer, [\d.]+ times/);
    assert.doesNotMatch((await row(page, 'Wind-up'))[0], /stiffer/);
    assert.equal(await page.getByRole('row').filter({ hasText: 'Slot width' }).isVisible(), false, 'what is the same is in the way');
    await sound(page, 'two designs on a phone');
    await picture(page, 'compare-phone');
    await page.locator(other('plate')).fill('0.01 mm');
    await press(page, page.getByRole('button', { name: 'Compare' }));
    await page.getByRole('alert').getByText(/other design: Plate thickness/i).waitFor();
    assert.equal(await page.locator(other('plate')).inputValue(), '0.01 mm', 'what was typed is gone');
    await page.goto('/worksheets/flat-wrench/compare?span=23.4mm&_b.plate=3mm');
    await page.getByRole('alert').getByText(/first design: Slot width is missing/i).waitFor();
    await press(page, page.getByRole('link', { name: 'Open the first design' }));
    assert.match(page.url(), /flat-wrench\?span=23\.4mm$/);
    page.quiet();
});

flow('a design kept in the job beside another', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/jobs/new');
    await page.getByLabel('Camera').fill('Tarnbrook 35');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    for (const [plate, title] of [['2mm', 'thin <one>'], ['4mm', 'thick one']]) {
        await page.goto(`/worksheets/flat-wrench?${wrench}&_job=1`.replace('plate=2mm', `plate=${plate}`));
        await page.getByText('Keep this in a job').click();
        await page.locator('#in-_title').fill(title);
        await press(page, page.getByRole('button', { name: 'Keep in the job' }));
    }
    await page.goto('/saved/1');
    await press(page, page.getByRole('link', { name: 'Compare with another design' }));
    await press(page, page.getByRole('link', { name: 'thick one' }));
    assert.match(page.url(), /_kept_a=1&_kept_b=2/);
    await page.getByRole('columnheader', { name: 'First design thin <one>' }).waitFor();
    assert.deepEqual(await row(page, 'Plate thickness'), ['2 mm', '≠ 4 mm']);
    await sound(page, 'two kept designs on a laptop');
    await picture(page, 'compare-laptop');
    await page.emulateMedia({ media: 'print' });
    assert.equal(await page.getByRole('heading', { name: 'The other design' }).isVisible(), false);
    assert.equal(await page.locator('table.both').isVisible(), true);
    await picture(page, 'compare-print');
    await page.emulateMedia({ media: 'screen', colorScheme: 'dark' });
    await sound(page, 'two kept designs in the dark');
    await picture(page, 'compare-dark');
    const twin = await (await page.request.get('/worksheets/flat-wrench/compare.json?_kept_a=1&_kept_b=2')).json();
    assert.equal(twin.format, 'camerawright.worksheet-compared/1');
    assert.deepEqual(twin.differs, ['plate']);
    assert.equal(twin.designs[1].inputs.plate.value, 4);
    assert.equal(twin.ranking.find((r) => r.word === 'stronger').better, 1);
    const typed = await (await page.request.get(`/worksheets/flat-wrench/compare.json?${wrench}&_b.plate=4mm`)).json();
    assert.deepEqual(typed, twin, 'typed or kept, it is the same comparison');
    for (const [address_, code] of [[`/worksheets/flat-wrench/compare.json?${wrench}`, 422],
        ['/worksheets/flat-wrench/compare.json?_kept_a=9&_kept_b=2', 404], ['/worksheets/bar-twist/compare.json?_kept_a=1&_kept_b=2', 422],
        ['/worksheets/none/compare.json', 404]])
        assert.equal((await page.request.get(address_)).status(), code, address_);
    page.quiet();
});

flow('every worksheet can be compared, without scripts', async ({ browser, address }) => {
    const page = await open(browser, address, { ...laptop, javaScriptEnabled: false });
    const { worksheets } = await (await page.request.get('/worksheets.json')).json();
    for (const { name } of worksheets) {
        await page.goto(`/worksheets/${name}`);
        const example = await page.getByRole('link', { name: 'Show a worked example' }).getAttribute('href');
        const query = example.split('?')[1] ?? '';
        const answer = await page.request.get(`/worksheets/${name}/compare?${query}&_kept_b=`);
        assert.equal(answer.status(), 200, name);
    }
    await page.goto(`/worksheets/bar-twist/compare?width=3mm&length=20mm`);
    await page.locator(other('width')).fill('4 mm');
    await press(page, page.getByRole('button', { name: 'Compare' }));
    assert.deepEqual(await row(page, 'Width, or diameter'), ['3 mm', '≠ 4 mm']);
    await page.goto('/worksheets/compare-wrenches');
    await press(page, page.getByRole('link', { name: 'Show a worked example' }));
    await press(page, page.getByRole('link', { name: 'Compare with another design' }));
    await page.locator('input[name="_b.designs"]').fill('thick strip,5mm,,,,mild-steel');
    await press(page, page.getByRole('button', { name: 'Compare' }));
    assert.deepEqual(await row(page, 'Designs'), ['3', '≠ 1']);
    await page.getByRole('heading', { name: 'Other design', exact: true }).waitFor();
    await page.getByRole('cell', { name: 'thick strip', exact: true }).waitFor();
    page.quiet();
});

await runFlows(flows);

// SPDX-License-Identifier: GPL-3.0-or-later
// Materials of the person's own: entered, offered in every worksheet, kept with a result, changed, removed, taken back.
import assert from 'node:assert/strict';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const flows = [];
const flow = (name, run) => flows.push({ name, run });

const narrow = { ...phone, viewport: { width: 390, height: 844 } };
const name = 'Plate "from" <the> drawer';

flow('a material is entered on the phone', async ({ browser, address }) => {
    const page = await open(browser, address, narrow);
    page.expected = ['422', '409'];
    await page.goto('/worksheets');
    await press(page, page.getByRole('link', { name: 'Your own materials' }));
    await sound(page, 'materials without any');
    await page.getByLabel('Name').fill(name);
    await page.getByLabel('Kind').fill('steel');
    await page.locator('#in-yield').fill('-60 ksi');
    await page.locator('#in-source').fill('its wrapper');
    await press(page, page.getByRole('button', { name: 'Keep this material' }));
    await page.getByRole('alert').getByText(/Yield or proof stress -413/).waitFor();
    assert.equal(await page.getByLabel('Name').inputValue(), name, 'what was typed is gone');
    await page.locator('#in-yield').fill('60 ksi');
    await page.locator('#in-yield-u').fill('17');
    await page.locator('#in-modulus').fill('205 mm');
    await press(page, page.getByRole('button', { name: 'Keep this material' }));
    await page.getByRole('alert').getByText('is not a stress').waitFor();
    await page.locator('#in-modulus').fill('205');
    await page.getByText('Poisson\'s ratio, expansion, friction, density').click();
    await page.locator('#in-poisson').fill('0,287');
    await picture(page, 'material-form-phone');
    await press(page, page.getByRole('button', { name: 'Keep this material' }));
    await page.getByRole('heading', { name }).waitFor();
    await page.getByText('414 ± 34 MPa').waitFor();
    await sound(page, 'materials on a phone');
    await picture(page, 'materials-phone');
    await page.locator('#in-name').fill('PLATE "FROM" <THE> DRAWER');
    await page.locator('#in-yield').fill('400');
    await press(page, page.getByRole('button', { name: 'Keep this material' }));
    await page.getByRole('alert').getByText('already').waitFor();
    await page.locator('#in-name').fill('Mild steel, as bought');
    await press(page, page.getByRole('button', { name: 'Keep this material' }));
    await page.getByRole('alert').getByText('one of the program\'s own').waitFor();
    const twin = await (await page.request.get('/materials.json')).json();
    assert.equal(twin.own.length, 1);
    assert.equal(twin.own[0].yield.unit, 'Pa');
    assert.ok(Math.abs(twin.own[0].yield.value - 413.685e6) < 1e3);
    assert.equal(twin.own[0].shear, null);
    const one = await (await page.request.get('/materials/1.json')).json();
    assert.equal(one.name, name);
    page.quiet();
});

flow('a worksheet offers it, and a kept result keeps it', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/jobs/new');
    await page.getByLabel('Camera').fill('Tarnbrook 35');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await page.goto('/worksheets/bar-twist?width=3&length=20');
    await page.getByLabel('Material', { exact: true }).selectOption(name);
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    assert.equal(await page.getByLabel('Material', { exact: true }).inputValue(), name);
    await page.getByText('The materials, and where their figures come from').click();
    await page.getByText(/its wrapper/).waitFor();
    await sound(page, 'a sheet with a material of one\'s own');
    await picture(page, 'sheet-own-material-laptop');
    await page.getByText('Keep this in a job').click();
    await page.locator('#in-_job').selectOption({ index: 0 });
    await press(page, page.getByRole('button', { name: 'Keep in the job' }));
    const before = await (await page.request.get('/saved/1.json')).json();
    assert.equal(before.materials[0].name, name);
    assert.equal(before.materials[0].source, 'its wrapper');

    await page.goto('/materials');
    await press(page, page.getByRole('link', { name: `Change ${name}` }));
    assert.equal(await page.locator('#in-poisson').inputValue(), '0.287');
    await page.locator('#in-yield').fill('300');
    await page.locator('#in-yield-u').fill('');
    await sound(page, 'a material being changed');
    await press(page, page.getByRole('button', { name: 'Keep the change' }));
    await page.getByText('300 MPa', { exact: true }).waitFor();
    await page.goto('/saved/1');
    await page.getByText('has other figures now').waitFor();
    await page.getByText(/1\.34 ± 0\.11 N m/).waitFor();
    await page.goto('/materials');
    await press(page, page.getByRole('button', { name: `Remove ${name}` }));
    await page.goto('/saved/1');
    await page.getByText('is not among your materials').waitFor();
    await page.getByText(/1\.34 ± 0\.11 N m/).waitFor();
    await sound(page, 'a kept result whose material is gone');
    await picture(page, 'saved-material-gone-laptop');
    assert.deepEqual(await (await page.request.get('/saved/1.json')).json(), before);
    await press(page, page.getByRole('link', { name: 'Enter it again' }));
    assert.equal(await page.locator('#in-name').inputValue(), name);
    assert.equal(await page.locator('#in-yield-u').inputValue(), '17');
    await page.goto('/jobs/1/report');
    await page.getByText(/yield or proof stress 414 ± 34 MPa.*its wrapper/).waitFor();
    await page.goto('/saved/1');
    page.expected = ['422'];
    await press(page, page.getByRole('link', { name: 'Change the numbers' }));
    await page.getByRole('alert').getByText(/nor of your own materials/).waitFor();
    assert.equal(await page.getByLabel('Material', { exact: true }).inputValue(), name);
    await page.goto('/materials');
    await press(page, page.getByRole('button', { name: `Undo: material "${name}" removed` }));
    await page.getByRole('heading', { name }).waitFor();
    await picture(page, 'materials-laptop');
    await page.setViewportSize({ width: 390, height: 844 });
    await sound(page, 'materials with undo on a phone');
    page.quiet();
});

flow('nothing is changed without the token', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/materials');
    for (const where of ['/materials', '/materials/1/edit', '/materials/1/delete', '/materials/undo', '/materials/redo']) {
        const answer = await page.request.post(where, { form: { name: 'x', yield: '300' }, headers: { Origin: address } });
        assert.equal(answer.status(), 403, where);
    }
    assert.equal((await (await page.request.get('/materials.json')).json()).own.length, 1);
    page.quiet();
});

await runFlows(flows);

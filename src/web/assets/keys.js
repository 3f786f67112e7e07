// SPDX-License-Identifier: GPL-3.0-or-later
// Keyboard shortcuts, for hands at the laptop. Every one of them is a link or a button on the page as well. They can be
// turned off on the page that lists them (/keys); nothing happens while something is being typed.
(() => {
    const off = () => localStorage.getItem('cw-keys') === 'off';
    const job = /^\/jobs\/(\d+)/.exec(location.pathname);
    const go = (address) => () => { location.href = address; };
    const focusOn = (selector) => {
        const target = document.querySelector(selector);
        if (target) {
            target.focus();
            target.scrollIntoView({ block: 'center' });
        }
        return target;
    };
    const keys = {
        '?': go('/keys'),
        '/': () => { if (!focusOn('main input[type=search]')) location.href = '/search'; },
        b: go('/'),
        m: go('/measure'),
        w: go('/worksheets'),
        n: () => focusOn('main .main'),
        j: job ? go(`/jobs/${job[1]}`) : null,
        p: job ? go(`/jobs/${job[1]}/prove`) : null,
        r: job ? go(`/jobs/${job[1]}/report`) : null,
        u: job ? go(`/jobs/${job[1]}/history`) : null,
    };
    document.addEventListener('keydown', (event) => {
        const typing = event.target.closest('input, textarea, select, [contenteditable]');
        if (event.key === 'Escape' && typing)
            typing.blur();
        if (typing || event.ctrlKey || event.altKey || event.metaKey || event.repeat || !keys[event.key])
            return;
        if (off() && event.key !== '?')
            return;
        event.preventDefault();
        keys[event.key]();
    });
    const tick = document.querySelector('#keys-on');
    if (tick) {
        tick.closest('[hidden]').hidden = false;
        tick.checked = !off();
        tick.addEventListener('change', () => localStorage.setItem('cw-keys', tick.checked ? 'on' : 'off'));
    }
})();

// SPDX-License-Identifier: GPL-3.0-or-later
// The live page: the keyboard (and a foot switch, which is one), the screen kept awake, and forms that change the test
// without leaving the page. Without it every button still works.
(() => {
  const live = document.getElementById('live');
  if (!live) return;

  let awake = null;
  const stayAwake = async () => {
    if (!('wakeLock' in navigator) || document.visibilityState !== 'visible') return;
    try { awake = await navigator.wakeLock.request('screen'); } catch (refused) { awake = null; }
  };
  document.addEventListener('visibilitychange', stayAwake);
  stayAwake();

  const send = async (address, fields) => {
    const body = new URLSearchParams({ token: live.dataset.token, ...fields });
    const answer = await fetch(address, { method: 'POST', body, headers: { 'HX-Request': 'true' } }).catch(() => null);
    if (!answer || !answer.ok) location.reload(); // the page says why
  };
  document.addEventListener('submit', (event) => {
    const form = event.target;
    if (!form.matches('form.in-place')) return;
    event.preventDefault();
    send(form.getAttribute('action'), Object.fromEntries(new FormData(form, event.submitter)));
    if (form.elements.reason) form.elements.reason.value = '';
  });

  const keys = { ' ': 'next', Enter: 'next', ArrowRight: 'next', PageDown: 'next', ArrowLeft: 'before', PageUp: 'before', r: 'again' };
  document.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    if (event.target.closest('input, select, textarea, button, a, summary, [tabindex]')) return;
    const last = document.getElementById('live-reading')?.dataset.shot;
    if (keys[event.key]) send('/live/set', { step: keys[event.key] });
    else if ((event.key === 'x' || event.key === 'Delete') && last) send('/live/strike', { shot: last, reason: '' });
    else if (event.key === 'u' && last) send('/live/unstrike', { shot: last });
    else return;
    event.preventDefault();
  });
})();

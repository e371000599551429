// Puts a newer page in the place of this one as soon as the server has it.
// What is the same in both stays as it is, so that the reader's place, what is
// unfolded and what has the focus stay too.
(() => {
  'use strict'

  const panel = () => document.getElementById('taut-watch')

  // kin tells whether one node can become the other.
  const kin = (a, b) => a.nodeName === b.nodeName && (a.id || '') === (b.id || '') && a.namespaceURI === b.namespaceURI

  function attributes (a, b) {
    const folds = a.localName === 'details' && a.dataset.fold === b.dataset.fold
    for (const name of a.getAttributeNames()) {
      if (!b.hasAttribute(name) && !(folds && name === 'open')) a.removeAttribute(name)
    }
    for (const name of b.getAttributeNames()) {
      if (a.getAttribute(name) !== b.getAttribute(name) && !(folds && name === 'open')) a.setAttribute(name, b.getAttribute(name))
    }
  }

  // common finds the longest list of children that both have in their order,
  // by their text, and calls each(old, next) for them.
  function common (old, next, each) {
    const n = old.length
    const m = next.length
    if (n * m > 4e6) return
    const numbers = new Map()
    const number = e => {
      const key = e.nodeName + '#' + (e.id || '') + '#' + e.textContent
      if (!numbers.has(key)) numbers.set(key, numbers.size)
      return numbers.get(key)
    }
    const x = old.map(number)
    const y = next.map(number)
    const best = Array.from({ length: n + 1 }, () => new Uint32Array(m + 1))
    for (let i = n - 1; i >= 0; i--) {
      for (let j = m - 1; j >= 0; j--) {
        best[i][j] = x[i] === y[j] ? best[i + 1][j + 1] + 1 : Math.max(best[i + 1][j], best[i][j + 1])
      }
    }
    for (let i = 0, j = 0; i < n && j < m;) {
      if (x[i] === y[j]) each(i++, j++)
      else if (best[i + 1][j] >= best[i][j + 1]) i++
      else j++
    }
  }

  // match returns for each of the next children the old one that can become
  // it, or none.
  function match (old, next) {
    const from = new Array(next.length).fill(null)
    const gap = (i, k, j, l) => {
      const left = old.slice(i, k)
      for (; j < l; j++) {
        const at = left.findIndex(o => kin(o, next[j]))
        if (at < 0) continue
        from[j] = left[at]
        left.splice(0, at + 1)
      }
    }
    let i = 0
    let j = 0
    common(old, next, (k, l) => {
      gap(i, k, j, l)
      from[l] = old[k]
      i = k + 1
      j = l + 1
    })
    gap(i, old.length, j, next.length)
    return from
  }

  // patch makes a the same as b.
  function patch (a, b) {
    if (a.isEqualNode(b)) return
    if (a.nodeType !== Node.ELEMENT_NODE) {
      a.data = b.data
      return
    }
    attributes(a, b)
    const old = [...a.childNodes]
    const next = [...b.childNodes]
    while (old.length && next.length && old[0].isEqualNode(next[0])) {
      old.shift()
      next.shift()
    }
    let behind = null
    while (old.length && next.length && old.at(-1).isEqualNode(next.at(-1))) {
      behind = old.pop()
      next.pop()
    }
    const from = match(old, next)
    const kept = new Set(from)
    for (const o of old) if (!kept.has(o)) o.remove()
    for (let j = next.length - 1; j >= 0; j--) { // all that is kept is in order
      if (from[j]) patch(from[j], next[j])
      else a.insertBefore(next[j], behind)
      behind = from[j] || next[j]
    }
  }

  // places remembers where some of what is in the window stands.
  function places () {
    const out = []
    for (let part = 0.06; part < 1; part += 0.08) {
      const e = document.elementsFromPoint(innerWidth / 3, innerHeight * part).find(e => !e.closest('#taut-watch'))
      const seen = e && e.getBoundingClientRect()
      if (e && seen.height < innerHeight / 2) out.push({ e, top: seen.top })
    }
    return out
  }

  // back moves the window so that the first of them that is there still stands
  // where it stood.
  function back (list) {
    const p = list.find(p => p.e.isConnected && p.e.getClientRects().length)
    const moved = p ? p.e.getBoundingClientRect().top - p.top : 0
    if (Math.abs(moved) >= 1) scrollBy({ top: moved, behavior: 'instant' })
  }

  // put takes the sum of the head, the title and the body, a line or more each.
  function put (text) {
    const first = text.indexOf('\n')
    const second = text.indexOf('\n', first + 1)
    if (text.slice(0, first) !== panel().dataset.head) {
      location.reload()
      return
    }
    const list = scrollY > 0 ? places() : []
    patch(document.body, new DOMParser().parseFromString(text.slice(second + 1), 'text/html').body)
    document.title = text.slice(first + 1, second)
    back(list)
  }

  // lost says in words that nobody answers; what is shown may be old.
  function lost (is) {
    panel().classList.toggle('taut-lost', is)
    document.getElementById('taut-lost').textContent = is
      ? 'No connection: `taut watch` has ended or can’t be reached. This page is not kept up to date.'
      : ''
  }

  addEventListener('DOMContentLoaded', () => {
    const live = new EventSource(location.pathname + '?live=' + encodeURIComponent(panel().dataset.version))
    live.addEventListener('page', e => put(e.data))
    live.onopen = () => lost(false)
    live.onerror = () => lost(true)
    addEventListener('pagehide', () => live.close())
    addEventListener('pageshow', e => { if (e.persisted) location.reload() })
  })
})()

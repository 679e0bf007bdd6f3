// What is here makes a page quicker; every page works without it. It is plain enough for the browser of an old phone.
'use strict';

// A scanned symbol carries its code behind the #, which no browser sends and no log sees.
(function () {
  var pairing = document.querySelector('form[data-pair]');
  if (pairing && location.hash.length > 1) {
    pairing.elements.code.value = decodeURIComponent(location.hash.slice(1));
    history.replaceState(null, '', location.pathname);
  }
})();

// A form waits for the network: what was typed stays on the page and is sent again until it arrives. Its key makes it act once, however
// often it is sent.
(function () {
  var clicked = null;
  document.addEventListener('click', function (e) {
    var button = e.target.closest ? e.target.closest('button') : null;
    if (button) { clicked = button; }
  }, true);

  document.addEventListener('submit', function (e) {
    var form = e.target;
    if (!form.hasAttribute('data-keeps') || !window.fetch || !window.FormData) { return; }
    e.preventDefault();
    if (form.dataset.sending) { return; }
    var body = new FormData(form);
    var button = e.submitter || (clicked && clicked.form === form ? clicked : null);
    if (button && button.name) { body.append(button.name, button.value); }
    if (form.enctype !== 'multipart/form-data') { body = new URLSearchParams(body); }
    send(form, body);
  });

  // A page that comes back from the browser's memory is one that can be filled in.
  window.addEventListener('pageshow', function (e) {
    if (!e.persisted) { return; }
    document.querySelectorAll('form[data-keeps]').forEach(function (form) {
      delete form.dataset.sending;
      form.inert = false;
    });
  });

  function send(form, body) {
    form.dataset.sending = 'yes';
    form.inert = true; // what is under way is what was typed: a correction would be lost without a word
    tell(form, 'Sending…');
    fetch(form.action, { method: 'POST', body: body, credentials: 'same-origin', headers: { 'Pitman-Page': '1' } }).then(function (answer) {
      var to = answer.headers.get('Pitman-To');
      if (to) {
        location.assign(to);
        return null;
      }
      if (answer.status === 429 || answer.status === 503) { throw new Error(answer.status); }
      return answer.text().then(function (text) { answered(form, text, answer.ok); });
    }).catch(function (why) {
      tell(form, (/^\d+$/.test(why.message) ? 'Not taken yet: too much comes at once.' : 'Not sent: the network is away.') +
        ' What you typed is kept as it is, and is sent again by itself. Leave this page open.');
      var again = function () {
        window.removeEventListener('online', again);
        clearTimeout(timer);
        send(form, body);
      };
      var timer = setTimeout(again, 3000);
      window.addEventListener('online', again);
    });
  }

  // answered shows the page that was answered, unless the form with all that was typed would be lost by that.
  function answered(form, text, done) {
    var page = new DOMParser().parseFromString(text, 'text/html');
    var why = page.querySelector('[role=alert]') || page.querySelector('main h1');
    if (done || page.querySelector('form[data-keeps]') || !why) { show(text); return; }
    delete form.dataset.sending;
    form.inert = false;
    tell(form, 'Not done: ' + why.textContent.trim() + ' What you typed is kept.');
  }

  function tell(form, text) {
    var line = form.querySelector('[data-told]');
    if (!line) {
      line = document.createElement('p');
      line.setAttribute('data-told', '');
      line.setAttribute('role', 'status');
      line.className = 'said';
      form.appendChild(line);
    }
    line.textContent = text;
  }

  // show puts the page that was answered in the place of this one.
  function show(text) {
    var page = new DOMParser().parseFromString(text, 'text/html');
    var main = page.querySelector('main');
    if (!main) { return; }
    document.querySelector('main').replaceWith(main);
    document.title = page.title;
    scanning();
    var first = main.querySelector('[role=alert]') || main.querySelector('h1');
    first.setAttribute('tabindex', '-1');
    first.focus();
    window.scrollTo(0, 0);
  }

  // A camera is watched for labels: frames go to the server, which reads them. Where the browser gives no camera, its own picture
  // chooser stands on the page.
  function scanning() {
    var form = document.querySelector('form[data-scan]');
    if (!form || !navigator.mediaDevices || !navigator.mediaDevices.getUserMedia) { return; }
    var button = document.createElement('button');
    button.type = 'button';
    button.className = 'quiet';
    button.textContent = 'Scan one after another with the camera';
    form.insertBefore(button, form.querySelector('[data-found]'));
    var found = form.querySelector('[data-found]'), stream = null, video = null;
    button.addEventListener('click', function () {
      if (stream) {
        stop();
        return;
      }
      navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } }).then(function (camera) {
        stream = camera;
        video = document.createElement('video');
        video.muted = true;
        video.setAttribute('playsinline', '');
        video.className = 'shown';
        video.srcObject = camera;
        form.insertBefore(video, found);
        button.textContent = 'Stop the camera';
        video.play();
        setTimeout(look, 500);
      }).catch(function () { found.textContent = 'The camera may not be used here. Choose a picture below.'; });
    });
    function stop() {
      stream.getTracks().forEach(function (track) { track.stop(); });
      video.remove();
      stream = video = null;
      button.textContent = 'Scan one after another with the camera';
    }
    function look() {
      if (!stream || !document.contains(form)) { return; }
      var scale = Math.min(1, 1000 / Math.max(video.videoWidth, video.videoHeight, 1));
      var canvas = document.createElement('canvas');
      canvas.width = Math.max(1, video.videoWidth * scale);
      canvas.height = Math.max(1, video.videoHeight * scale);
      canvas.getContext('2d').drawImage(video, 0, 0, canvas.width, canvas.height);
      canvas.toBlob(function (blob) {
        var body = new FormData();
        body.append('frame', blob, 'frame.jpg');
        fetch('/scan', { method: 'POST', body: body, credentials: 'same-origin' }).then(function (answer) {
          return answer.ok ? answer.json() : {};
        }).then(function (answer) {
          var tags = form.elements.tags;
          if (answer.tag) {
            if ((' ' + tags.value.split(/\s+/).join(' ') + ' ').indexOf(' ' + answer.tag + ' ') < 0) {
              tags.value = (tags.value.trim() + '\n' + answer.tag).trim() + '\n';
              if (navigator.vibrate) { navigator.vibrate(80); }
            }
            found.textContent = answer.tag + ' is on the list.';
          }
          if (answer.place && form.elements.place) {
            form.elements.place.value = answer.place;
            found.textContent = 'The place is ' + answer.place + '.';
          }
          setTimeout(look, 400);
        }).catch(function () { setTimeout(look, 3000); });
      }, 'image/jpeg', 0.8);
    }
  }
  scanning();
})();

// The wall renews itself, and says so when it cannot.
(function () {
  var board = document.querySelector('.board');
  if (!board || !window.fetch) { return; }
  setInterval(function () {
    fetch(location.pathname, { credentials: 'same-origin' }).then(function (answer) {
      if (answer.status === 401) { location.reload(); }
      if (!answer.ok) { throw new Error(answer.status); }
      return answer.text();
    }).then(function (text) {
      var fresh = new DOMParser().parseFromString(text, 'text/html').querySelector('.board');
      if (fresh) { document.querySelector('.board').replaceWith(fresh); }
    }).catch(function () {
      var at = document.querySelector('.board [data-at]');
      if (at) { at.textContent = 'not renewed: the network is away. This is as of ' + at.dataset.at; }
    });
  }, 20000);
})();
